package files_test

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"testing"
	"time"

	"sizerun/internal/files"
	"sizerun/internal/files/filestest"
	"sizerun/internal/shop"
)

func TestDisk(t *testing.T) {
	filestest.Run(t, func(t *testing.T) shop.Files {
		d, err := files.NewDisk(t.TempDir())
		if err != nil {
			t.Fatal(err)
		}
		return d
	})
}

func TestALeftoverOfABrokenWriteIsClearedAndNeverAContent(t *testing.T) {
	root := t.TempDir()
	if _, err := files.NewDisk(root); err != nil {
		t.Fatal(err)
	}
	old, young := filepath.Join(root, "tmp", "put-old"), filepath.Join(root, "tmp", "put-young")
	for _, p := range []string{old, young} {
		if err := os.WriteFile(p, []byte("half"), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	past := time.Now().Add(-2 * time.Hour)
	if err := os.Chtimes(old, past, past); err != nil {
		t.Fatal(err)
	}
	d, err := files.NewDisk(root)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := os.Stat(old); !os.IsNotExist(err) {
		t.Error("the old leftover is still there")
	}
	if _, err := os.Stat(young); err != nil {
		t.Error("another process's write was cleared away:", err)
	}
	if err := d.Walk(context.Background(), func(sum string, _ time.Time) error { return fmt.Errorf("saw %s", sum) }); err != nil {
		t.Error(err)
	}
}

func TestAFailedWriteLeavesNothing(t *testing.T) {
	root := t.TempDir()
	d, err := files.NewDisk(root)
	if err != nil {
		t.Fatal(err)
	}
	// A file where the folder of "abc" (ba78…) belongs: the rename can't succeed.
	if err := os.WriteFile(filepath.Join(root, "ba"), nil, 0o600); err != nil {
		t.Fatal(err)
	}
	if _, err := d.Put(context.Background(), []byte("abc")); err == nil {
		t.Fatal("it was put nowhere without an error")
	}
	left, err := os.ReadDir(filepath.Join(root, "tmp"))
	if err != nil || len(left) != 0 {
		t.Errorf("%d temporary files are left, %v", len(left), err)
	}
}

func BenchmarkPut(b *testing.B) {
	d, err := files.NewDisk(b.TempDir())
	if err != nil {
		b.Fatal(err)
	}
	data := make([]byte, 150<<10) // a pattern of a dozen sizes
	b.SetBytes(int64(len(data)))
	for i := 0; b.Loop(); i++ {
		copy(data, fmt.Sprint(i))
		if _, err := d.Put(b.Context(), data); err != nil {
			b.Fatal(err)
		}
	}
}
