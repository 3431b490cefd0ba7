package embedded_test

import (
	"context"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"

	"sizerun/internal/shop"
	"sizerun/internal/store/embedded"
	"sizerun/internal/store/storetest"
)

func open(t testing.TB) shop.Store {
	t.Helper()
	s, err := embedded.Open(context.Background(), t.TempDir())
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := s.Close(); err != nil {
			t.Error(err)
		}
	})
	return s
}

func TestStore(t *testing.T) { storetest.Run(t, open) }

func BenchmarkStore(b *testing.B) { storetest.Benchmark(b, open) }

func TestAFolderWithAnOddNameIsOpened(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "a b?c=d#e%20ä")
	s, err := embedded.Open(context.Background(), dir)
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	if _, err := os.Stat(filepath.Join(dir, embedded.FileName)); err != nil {
		t.Error(err)
	}
}

func TestManyMayOpenTheSameFolderAtOnce(t *testing.T) {
	dir := t.TempDir()
	var wg sync.WaitGroup
	for i := range 4 {
		wg.Go(func() {
			s, err := embedded.Open(context.Background(), dir)
			if err != nil {
				t.Error(err)
				return
			}
			defer s.Close()
			if _, err := s.EnsureShop(context.Background(), shop.Shop{ID: shop.ShopID(rune('a' + i)), Name: "Rookery Lane", CreatedAt: storetest.T0}); err != nil {
				t.Error(err)
			}
		})
	}
	wg.Wait()
}

func TestOneProcessAloneServesAFolder(t *testing.T) {
	dir := t.TempDir()
	release, err := embedded.Lock(dir)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := embedded.Lock(dir); err == nil || !strings.Contains(err.Error(), "another process") {
		t.Errorf("the second gets %v", err)
	}
	if err := release(); err != nil {
		t.Fatal(err)
	}
	again, err := embedded.Lock(dir)
	if err != nil {
		t.Fatal(err)
	}
	if err := again(); err != nil {
		t.Error(err)
	}
}
