// Package filestest holds what every storage of files must do, as claims to be run against each.
package filestest

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"sync"
	"testing"
	"time"

	"sizerun/internal/shop"
)

// Run makes a fresh storage for each claim and holds it against it.
func Run(t *testing.T, open func(t *testing.T) shop.Files) {
	ctx := context.Background()
	get := func(t *testing.T, f shop.Files, sum string) []byte {
		t.Helper()
		r, n, err := f.Open(ctx, sum)
		if err != nil {
			t.Fatal(err)
		}
		defer func() { _ = r.Close() }() // only read
		b, err := io.ReadAll(r)
		if err != nil || int64(len(b)) != n {
			t.Fatalf("read %d bytes of %d: %v", len(b), n, err)
		}
		return b
	}
	put := func(t *testing.T, f shop.Files, data []byte) string {
		t.Helper()
		sum, err := f.Put(ctx, data)
		if err != nil {
			t.Fatal(err)
		}
		return sum
	}
	walk := func(t *testing.T, f shop.Files) map[string]time.Time {
		t.Helper()
		m := map[string]time.Time{}
		if err := f.Walk(ctx, func(sum string, at time.Time) error { m[sum] = at; return nil }); err != nil {
			t.Fatal(err)
		}
		return m
	}

	t.Run("what is put comes back, under the SHA-256 of it", func(t *testing.T) {
		f := open(t)
		for _, data := range [][]byte{{}, []byte("abc"), bytes.Repeat([]byte{0, 1, 2}, 1<<20)} {
			sum := put(t, f, data)
			if h := sha256.Sum256(data); sum != hex.EncodeToString(h[:]) {
				t.Errorf("%d bytes are named %s", len(data), sum)
			}
			if !bytes.Equal(get(t, f, sum), data) {
				t.Errorf("%d bytes came back different", len(data))
			}
		}
	})
	t.Run("any part can be read", func(t *testing.T) {
		f := open(t)
		r, _, err := f.Open(ctx, put(t, f, []byte("0123456789")))
		if err != nil {
			t.Fatal(err)
		}
		defer func() { _ = r.Close() }() // only read
		if _, err := r.Seek(-3, io.SeekEnd); err != nil {
			t.Fatal(err)
		}
		if b, _ := io.ReadAll(r); string(b) != "789" {
			t.Errorf("the last three are %q", b)
		}
	})
	t.Run("the same content is kept once", func(t *testing.T) {
		f := open(t)
		if a, b := put(t, f, []byte("x")), put(t, f, []byte("x")); a != b {
			t.Errorf("%s and %s", a, b)
		}
		if n := len(walk(t, f)); n != 1 {
			t.Errorf("%d contents", n)
		}
	})
	t.Run("what is not there is absent, whatever it is called", func(t *testing.T) {
		f := open(t)
		h := sha256.Sum256([]byte("never put"))
		for _, sum := range []string{hex.EncodeToString(h[:]), "", "..", "../../etc/passwd", "ab", string(make([]byte, 64))} {
			if _, _, err := f.Open(ctx, sum); !errors.Is(err, shop.ErrAbsent) {
				t.Errorf("opening %q: %v", sum, err)
			}
			if err := f.Delete(ctx, sum, time.Now()); err != nil {
				t.Errorf("deleting %q: %v", sum, err)
			}
		}
	})
	t.Run("deleted is gone, and can be put again", func(t *testing.T) {
		f := open(t)
		sum := put(t, f, []byte("x"))
		if err := f.Delete(ctx, sum, time.Now().Add(time.Hour)); err != nil {
			t.Fatal(err)
		}
		if _, _, err := f.Open(ctx, sum); !errors.Is(err, shop.ErrAbsent) {
			t.Errorf("after deleting: %v", err)
		}
		if put(t, f, []byte("x")); string(get(t, f, sum)) != "x" {
			t.Error("it did not come back")
		}
	})
	t.Run("what was put since is not deleted", func(t *testing.T) {
		f := open(t)
		sum := put(t, f, []byte("x"))
		before := walk(t, f)[sum]
		time.Sleep(20 * time.Millisecond)
		put(t, f, []byte("x")) // a run has just made the same bytes again
		if err := f.Delete(ctx, sum, before); err != nil {
			t.Fatal(err)
		}
		if string(get(t, f, sum)) != "x" {
			t.Error("it is gone")
		}
	})
	t.Run("a download outlives a delete", func(t *testing.T) {
		f := open(t)
		data := bytes.Repeat([]byte("abc"), 1<<18)
		sum := put(t, f, data)
		r, _, err := f.Open(ctx, sum)
		if err != nil {
			t.Fatal(err)
		}
		defer func() { _ = r.Close() }() // only read
		if err := f.Delete(ctx, sum, time.Now().Add(time.Hour)); err != nil {
			t.Fatal(err)
		}
		if b, err := io.ReadAll(r); err != nil || !bytes.Equal(b, data) {
			t.Errorf("%d bytes, %v", len(b), err)
		}
	})
	t.Run("many at once never see half a content", func(t *testing.T) {
		f := open(t)
		data := bytes.Repeat([]byte("long"), 1<<16)
		h := sha256.Sum256(data)
		sum := hex.EncodeToString(h[:])
		var wg sync.WaitGroup
		fail := make(chan error, 64)
		for i := range 16 {
			wg.Go(func() {
				if i%2 == 0 {
					_, err := f.Put(ctx, data)
					fail <- err
					return
				}
				r, n, err := f.Open(ctx, sum)
				if errors.Is(err, shop.ErrAbsent) {
					return
				}
				if err != nil {
					fail <- err
					return
				}
				defer func() { _ = r.Close() }() // only read
				if b, err := io.ReadAll(r); err != nil || n != int64(len(data)) || !bytes.Equal(b, data) {
					fail <- fmt.Errorf("saw %d bytes of %d: %w", len(b), len(data), err)
				}
			})
		}
		wg.Wait()
		close(fail)
		for err := range fail {
			if err != nil {
				t.Error(err)
			}
		}
	})
	t.Run("walking stops when it is told", func(t *testing.T) {
		f := open(t)
		put(t, f, []byte("a"))
		put(t, f, []byte("b"))
		enough, n := errors.New("enough"), 0
		if err := f.Walk(ctx, func(string, time.Time) error { n++; return enough }); !errors.Is(err, enough) || n != 1 {
			t.Errorf("%d contents, %v", n, err)
		}
	})
}
