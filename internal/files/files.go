// Package files keeps the bytes of files, named by their content: the SHA-256 in hex. The same
// bytes are kept once, whoever made them and however often.
//
// Disk keeps them in a folder. What is read under a name is whole: a content is written to a
// temporary file, flushed to the disk, and renamed. Several processes may share the folder.
//
// filestest holds the claims that every storage behind shop.Files is held to.
package files

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"sync"
	"time"

	"sizerun/internal/shop"
)

// Disk is a shop.Files in a folder: <first two digits>/<all digits>, and tmp for what is being
// written.
type Disk struct {
	root string
	mu   sync.RWMutex // Delete alone excludes Put, so that nothing is deleted while it is put again
}

var _ shop.Files = (*Disk)(nil)

const tmpFolder = "tmp"

// tmpAge is when a temporary file is surely nobody's any more.
const tmpAge = time.Hour

// NewDisk opens the folder, makes it when it is not there, and clears what broken-off writes left.
func NewDisk(root string) (*Disk, error) {
	tmp := filepath.Join(root, tmpFolder)
	if err := os.MkdirAll(tmp, 0o700); err != nil {
		return nil, fmt.Errorf("files: %w", err)
	}
	left, err := os.ReadDir(tmp)
	if err != nil {
		return nil, fmt.Errorf("files: %w", err)
	}
	for _, e := range left {
		if i, err := e.Info(); err == nil && time.Since(i.ModTime()) > tmpAge {
			_ = os.Remove(filepath.Join(tmp, e.Name())) // another process may have been quicker
		}
	}
	return &Disk{root: root}, nil
}

func (d *Disk) path(sum string) string { return filepath.Join(d.root, sum[:2], sum) }

// Valid keeps anything but a hash out of paths.
func Valid(sum string) bool {
	if len(sum) != 2*sha256.Size {
		return false
	}
	for i := range len(sum) {
		if c := sum[i]; (c < '0' || c > '9') && (c < 'a' || c > 'f') {
			return false
		}
	}
	return true
}

// Put implements shop.Files. A content that is there is marked as put now.
func (d *Disk) Put(ctx context.Context, data []byte) (string, error) {
	if err := ctx.Err(); err != nil {
		return "", err
	}
	h := sha256.Sum256(data)
	sum := hex.EncodeToString(h[:])
	path := d.path(sum)
	d.mu.RLock()
	defer d.mu.RUnlock()
	if i, err := os.Stat(path); err == nil && i.Size() == int64(len(data)) {
		now := time.Now()
		if err := os.Chtimes(path, now, now); err == nil {
			return sum, nil
		} // gone in between: write it
	}
	if err := d.write(path, data); err != nil {
		return "", fmt.Errorf("files: %w", err)
	}
	return sum, nil
}

func (d *Disk) write(path string, data []byte) (err error) {
	f, err := os.CreateTemp(filepath.Join(d.root, tmpFolder), "put-*")
	if err != nil {
		return err
	}
	defer func() {
		if err != nil {
			err = errors.Join(err, os.Remove(f.Name()))
		}
	}()
	_, err = f.Write(data)
	if err == nil {
		err = f.Sync()
	}
	if err = errors.Join(err, f.Close()); err != nil {
		return err
	}
	if err = os.MkdirAll(filepath.Dir(path), 0o700); err != nil {
		return err
	}
	if err = os.Rename(f.Name(), path); err != nil {
		return err
	}
	return syncFolder(filepath.Dir(path))
}

// syncFolder makes a rename outlive a power cut.
func syncFolder(dir string) error {
	f, err := os.Open(dir)
	if err != nil {
		return nil // renamed, which is what counts; not every system opens folders
	}
	_ = f.Sync()
	return f.Close()
}

// Open implements shop.Files. What is open can be read to its end even when it is deleted.
func (d *Disk) Open(ctx context.Context, sum string) (io.ReadSeekCloser, int64, error) {
	if err := ctx.Err(); err != nil {
		return nil, 0, err
	}
	if !Valid(sum) {
		return nil, 0, shop.ErrAbsent
	}
	f, err := os.Open(d.path(sum))
	if errors.Is(err, fs.ErrNotExist) {
		return nil, 0, shop.ErrAbsent
	}
	if err != nil {
		return nil, 0, fmt.Errorf("files: %w", err)
	}
	i, err := f.Stat()
	if err != nil {
		return nil, 0, errors.Join(fmt.Errorf("files: %w", err), f.Close())
	}
	return f, i.Size(), nil
}

// Walk implements shop.Files.
func (d *Disk) Walk(ctx context.Context, f func(sum string, modified time.Time) error) error {
	folders, err := os.ReadDir(d.root)
	if err != nil {
		return fmt.Errorf("files: %w", err)
	}
	for _, folder := range folders {
		if !folder.IsDir() || len(folder.Name()) != 2 {
			continue
		}
		entries, err := os.ReadDir(filepath.Join(d.root, folder.Name()))
		if err != nil {
			return fmt.Errorf("files: %w", err)
		}
		for _, e := range entries {
			if err := ctx.Err(); err != nil {
				return err
			}
			if !Valid(e.Name()) {
				continue
			}
			i, err := e.Info()
			if errors.Is(err, fs.ErrNotExist) {
				continue
			}
			if err != nil {
				return fmt.Errorf("files: %w", err)
			}
			if err := f(e.Name(), i.ModTime()); err != nil {
				return err
			}
		}
	}
	return nil
}

// Delete implements shop.Files.
func (d *Disk) Delete(ctx context.Context, sum string, notSince time.Time) error {
	if err := ctx.Err(); err != nil {
		return err
	}
	if !Valid(sum) {
		return nil
	}
	d.mu.Lock()
	defer d.mu.Unlock()
	i, err := os.Stat(d.path(sum))
	if err == nil && i.ModTime().After(notSince) {
		return nil
	}
	if err == nil {
		err = os.Remove(d.path(sum))
	}
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return fmt.Errorf("files: %w", err)
	}
	return nil
}
