// Package bucket keeps the bytes of files in object storage that speaks the S3 protocol, named by
// their SHA-256 as package files names them on disk. Any number of processes on any number of
// machines may share a bucket.
//
// S3 has no "delete unless it was written since": between the look and the deletion another process
// may put the same bytes again. So whoever deletes sets a mark first, then looks, deletes and takes the
// mark away; whoever puts looks for the mark after writing, and while there is one waits and sees whether
// the content is still there. A look that comes after the mark sees what was written before it, for S3
// shows every write at once.
package bucket

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"net/http"
	"net/url"
	"path"
	"strings"
	"time"

	"github.com/minio/minio-go/v7"
	"github.com/minio/minio-go/v7/pkg/credentials"

	"sizerun/internal/files"
	"sizerun/internal/shop"
)

// Options say where the bucket is and who asks.
type Options struct {
	// URL is s3://bucket/prefix?endpoint=https://host:port&region=name. Without an endpoint it is
	// Amazon's; plain http is for a storage on one's own network.
	URL         string
	KeyID       string // empty: what the environment or the machine grants (AWS_ACCESS_KEY_ID, an instance's role)
	Secret      string
	HTTPTimeout time.Duration // for the first answer to a request; 0: 30 s
}

// Bucket is a shop.Files in object storage.
type Bucket struct {
	core   *minio.Core
	bucket string
	prefix string
}

var _ shop.Files = (*Bucket)(nil)

const (
	// youngFor is how long a content counts as just written: younger ones are not written again when
	// they are put again. It is far less than the age at which unused contents are deleted.
	youngFor = 10 * time.Minute
	// tick is how coarse S3 tells when an object was written.
	tick = time.Second
	// markFor is how long a mark counts: whoever set it and is still at it after that has died.
	markFor = time.Minute
	marks   = "deleting/"
)

// Parse reads the URL of a bucket; its error says what a right one is and repeats nothing of it.
func Parse(s string) (endpoint, region, bucket, prefix string, secure bool, err error) {
	bad := errors.New("an object storage is named as s3://bucket/prefix?endpoint=https://host&region=name")
	u, e := url.Parse(s)
	if e != nil || u.Scheme != "s3" || u.Host == "" || u.User != nil || u.Fragment != "" || strings.Contains(u.Host, ":") {
		return "", "", "", "", false, bad
	}
	endpoint, secure = "s3.amazonaws.com", true
	for k, v := range u.Query() {
		switch {
		case len(v) != 1:
			return "", "", "", "", false, bad
		case k == "region":
			region = v[0]
		case k == "endpoint":
			at, e := url.Parse(v[0])
			if e != nil || at.Host == "" || at.User != nil || at.Scheme != "http" && at.Scheme != "https" || strings.Trim(at.Path, "/") != "" {
				return "", "", "", "", false, bad
			}
			endpoint, secure = at.Host, at.Scheme == "https"
		default:
			return "", "", "", "", false, bad
		}
	}
	if prefix = strings.Trim(path.Clean("/"+u.Path), "/"); prefix != "" {
		prefix += "/"
	}
	return endpoint, region, u.Host, prefix, secure, nil
}

// Open reaches the bucket, which must be there: making one is the operator's to decide.
func Open(ctx context.Context, o Options) (*Bucket, error) {
	endpoint, region, name, prefix, secure, err := Parse(o.URL)
	if err != nil {
		return nil, err
	}
	creds := credentials.NewStaticV4(o.KeyID, o.Secret, "")
	if o.KeyID == "" {
		creds = credentials.NewChainCredentials([]credentials.Provider{&credentials.EnvAWS{}, &credentials.FileAWSCredentials{}, &credentials.IAM{}})
	}
	tr, err := minio.DefaultTransport(secure)
	if err != nil {
		return nil, fmt.Errorf("bucket: %w", err)
	}
	if tr.ResponseHeaderTimeout = o.HTTPTimeout; o.HTTPTimeout == 0 {
		tr.ResponseHeaderTimeout = 30 * time.Second
	}
	core, err := minio.NewCore(endpoint, &minio.Options{Creds: creds, Secure: secure, Region: region, Transport: tr, MaxRetries: 3})
	if err != nil {
		return nil, fmt.Errorf("bucket: %w", err)
	}
	there, err := core.BucketExists(ctx, name)
	if err != nil {
		return nil, fmt.Errorf("bucket: %w", err)
	}
	if !there {
		return nil, fmt.Errorf("bucket: there is no bucket %q at %s, or this key may not see it", name, endpoint)
	}
	return &Bucket{core: core, bucket: name, prefix: prefix}, nil
}

func (b *Bucket) key(sum string) string  { return b.prefix + sum[:2] + "/" + sum }
func (b *Bucket) mark(sum string) string { return b.prefix + marks + sum }

// away turns what the client answers into what the shop understands.
func away(err error) error {
	if err == nil {
		return nil
	}
	var r minio.ErrorResponse
	if errors.As(err, &r) {
		switch {
		case r.StatusCode == http.StatusNotFound || r.Code == minio.NoSuchKey:
			return shop.ErrAbsent
		case r.StatusCode >= 400 && r.StatusCode < 500 && r.StatusCode != http.StatusTooManyRequests && r.StatusCode != http.StatusRequestTimeout:
			return fmt.Errorf("bucket: %w", err)
		}
	}
	if errors.Is(err, context.Canceled) || errors.Is(err, context.DeadlineExceeded) {
		return err
	}
	return &shop.Error{Kind: shop.Unavailable, Detail: "the storage of files can't be reached; try again later", RetryAfter: 5 * time.Second, Cause: err}
}

func gone(err error) bool { return errors.Is(away(err), shop.ErrAbsent) }

// Put implements shop.Files.
func (b *Bucket) Put(ctx context.Context, data []byte) (string, error) {
	h := sha256.Sum256(data)
	sum := hex.EncodeToString(h[:])
	i, err := b.core.Client.StatObject(ctx, b.bucket, b.key(sum), minio.StatObjectOptions{})
	switch {
	case err == nil && i.Size == int64(len(data)) && time.Since(i.LastModified) < youngFor:
		return sum, nil
	case err != nil && !gone(err):
		return "", away(err)
	}
	for {
		if err := b.write(ctx, b.key(sum), data); err != nil {
			return "", err
		}
		marked, err := b.unmarked(ctx, sum)
		if err != nil {
			return "", err
		}
		if !marked {
			return sum, nil
		}
		if _, err := b.core.Client.StatObject(ctx, b.bucket, b.key(sum), minio.StatObjectOptions{}); err == nil || !gone(err) {
			return sum, away(err)
		}
	}
}

func (b *Bucket) write(ctx context.Context, key string, data []byte) error {
	_, err := b.core.Client.PutObject(ctx, b.bucket, key, bytes.NewReader(data), int64(len(data)), minio.PutObjectOptions{ContentType: "application/octet-stream"})
	return away(err)
}

// unmarked waits until nobody is deleting the content, and says whether somebody was.
func (b *Bucket) unmarked(ctx context.Context, sum string) (was bool, err error) {
	for {
		i, err := b.core.Client.StatObject(ctx, b.bucket, b.mark(sum), minio.StatObjectOptions{})
		switch {
		case gone(err):
			return was, nil
		case err != nil:
			return was, away(err)
		case time.Since(i.LastModified) > markFor:
			return was, away(b.core.Client.RemoveObject(ctx, b.bucket, b.mark(sum), minio.RemoveObjectOptions{}))
		}
		was = true
		select {
		case <-ctx.Done():
			return was, ctx.Err()
		case <-time.After(50 * time.Millisecond):
		}
	}
}

// Open implements shop.Files. Reading from the start goes on when the content is deleted meanwhile.
func (b *Bucket) Open(ctx context.Context, sum string) (io.ReadSeekCloser, int64, error) {
	if !files.Valid(sum) {
		return nil, 0, shop.ErrAbsent
	}
	o, err := b.open(ctx, b.key(sum))
	if err != nil {
		return nil, 0, err
	}
	return o, o.size, nil
}

// Walk implements shop.Files.
func (b *Bucket) Walk(ctx context.Context, f func(sum string, modified time.Time) error) error {
	ctx, stop := context.WithCancel(ctx)
	defer stop() // ends the listing
	for i := range b.core.Client.ListObjects(ctx, b.bucket, minio.ListObjectsOptions{Prefix: b.prefix, Recursive: true}) {
		if i.Err != nil {
			return away(i.Err)
		}
		if sum := path.Base(i.Key); files.Valid(sum) && b.key(sum) == i.Key {
			if err := f(sum, i.LastModified); err != nil {
				return err
			}
		}
	}
	return ctx.Err()
}

// Delete implements shop.Files.
func (b *Bucket) Delete(ctx context.Context, sum string, notSince time.Time) error {
	if !files.Valid(sum) {
		return nil
	}
	if old, err := b.older(ctx, sum, notSince); err != nil || !old {
		return err
	}
	if err := b.write(ctx, b.mark(sum), nil); err != nil {
		return err
	}
	old, err := b.older(ctx, sum, notSince)
	if old && err == nil {
		err = away(b.core.Client.RemoveObject(ctx, b.bucket, b.key(sum), minio.RemoveObjectOptions{}))
	}
	return errors.Join(err, away(b.core.Client.RemoveObject(ctx, b.bucket, b.mark(sum), minio.RemoveObjectOptions{})))
}

// older reports whether the content is there and was surely not put since.
func (b *Bucket) older(ctx context.Context, sum string, notSince time.Time) (bool, error) {
	i, err := b.core.Client.StatObject(ctx, b.bucket, b.key(sum), minio.StatObjectOptions{})
	if gone(err) {
		return false, nil
	}
	return err == nil && !i.LastModified.Add(tick).After(notSince), away(err)
}

// Ping reports whether the bucket can be reached.
func (b *Bucket) Ping(ctx context.Context) error {
	_, err := b.core.BucketExists(ctx, b.bucket)
	return away(err)
}
