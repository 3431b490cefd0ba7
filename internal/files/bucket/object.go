package bucket

import (
	"context"
	"errors"
	"fmt"
	"io"

	"github.com/minio/minio-go/v7"

	"sizerun/internal/shop"
)

// object reads one object: from the start as it was found, elsewhere by asking for the rest again.
type object struct {
	ctx  context.Context
	b    *Bucket
	key  string
	etag string
	size int64
	at   int64 // where the reader stands
	body io.ReadCloser
	from int64 // where body stands
}

func (b *Bucket) open(ctx context.Context, key string) (*object, error) {
	body, i, _, err := b.core.GetObject(ctx, b.bucket, key, minio.GetObjectOptions{})
	if err != nil {
		return nil, away(err)
	}
	return &object{ctx: ctx, b: b, key: key, etag: i.ETag, size: i.Size, body: body}, nil
}

// Read implements io.Reader.
func (o *object) Read(p []byte) (int, error) {
	if o.at >= o.size {
		return 0, io.EOF
	}
	if len(p) == 0 {
		return 0, nil
	}
	if o.body == nil || o.from != o.at {
		if err := o.reopen(); err != nil {
			return 0, err
		}
	}
	n, err := o.body.Read(p)
	o.at += int64(n)
	o.from = o.at
	switch {
	case errors.Is(err, io.EOF) && o.at < o.size:
		return n, io.ErrUnexpectedEOF
	case err != nil && !errors.Is(err, io.EOF):
		return n, away(err)
	}
	return n, err
}

// reopen asks for what lies from here on, of the same object.
func (o *object) reopen() error {
	if err := o.Close(); err != nil {
		return err
	}
	opt := minio.GetObjectOptions{}
	if err := errors.Join(opt.SetRange(o.at, 0), opt.SetMatchETag(o.etag)); err != nil {
		return fmt.Errorf("bucket: %w", err)
	}
	if o.at == 0 { // a range from 0 to 0 is the first byte
		opt = minio.GetObjectOptions{}
	}
	body, _, _, err := o.b.core.GetObject(o.ctx, o.b.bucket, o.key, opt)
	if err != nil {
		if errors.Is(away(err), shop.ErrAbsent) {
			return fmt.Errorf("bucket: the content is gone: %w", err)
		}
		return away(err)
	}
	o.body, o.from = body, o.at
	return nil
}

// Seek implements io.Seeker; nothing is asked for until it is read.
func (o *object) Seek(offset int64, whence int) (int64, error) {
	switch whence {
	case io.SeekCurrent:
		offset += o.at
	case io.SeekEnd:
		offset += o.size
	}
	if offset < 0 {
		return 0, errors.New("bucket: a place before the start")
	}
	o.at = offset
	return offset, nil
}

// Close implements io.Closer.
func (o *object) Close() error {
	if o.body == nil {
		return nil
	}
	body := o.body
	o.body = nil
	return body.Close()
}
