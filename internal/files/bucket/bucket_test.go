package bucket_test

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"strings"
	"testing"
	"time"

	"sizerun/internal/files/bucket"
	"sizerun/internal/files/filestest"
	"sizerun/internal/shop"
	"sizerun/internal/testkit/s3test"
)

func open(t testing.TB, s *s3test.Server, prefix string) *bucket.Bucket {
	t.Helper()
	b, err := bucket.Open(context.Background(), bucket.Options{URL: strings.Replace(s.URL(), "/shop?", "/"+prefix+"?", 1), KeyID: s3test.KeyID, Secret: s3test.Secret})
	if err != nil {
		t.Fatal(err)
	}
	return b
}

func TestBucket(t *testing.T) {
	s := s3test.Start(t)
	n := 0
	filestest.Run(t, func(t *testing.T) shop.Files {
		n++
		return open(t, s, fmt.Sprintf("claim%d", n))
	})
}

// A sweeper deletes an old content that no run has while a worker puts the same bytes again. The worker
// has an answer when the sweeper is through, and the content is there.
func TestWhatIsPutWhileItIsDeletedIsThere(t *testing.T) {
	ctx, s := context.Background(), s3test.Start(t)
	b := open(t, s, "shop")
	data := []byte("made again")
	h := sha256.Sum256(data)
	sum := hex.EncodeToString(h[:])
	content, mark := "shop/"+sum[:2]+"/"+sum, "shop/deleting/"+sum
	s.Write(t, mark) // the sweeper has looked, and found it old
	put := make(chan error, 1)
	go func() { _, err := b.Put(ctx, data); put <- err }()
	for !s.Has(content) {
		time.Sleep(time.Millisecond)
	}
	s.Remove(t, content) // it deletes what it had found
	select {
	case err := <-put:
		t.Fatalf("the worker had its answer while the content was being deleted: %v", err)
	case <-time.After(200 * time.Millisecond):
	}
	s.Remove(t, mark)
	if err := <-put; err != nil {
		t.Fatal(err)
	}
	if !s.Has(content) {
		t.Error("the content is gone")
	}
	// A sweeper that died over it holds nobody up for longer than a minute.
	s.Remove(t, content)
	s.Write(t, mark)
	s.Age(t, mark, 2*time.Minute)
	if _, err := b.Put(ctx, data); err != nil || !s.Has(content) || s.Has(mark) {
		t.Errorf("after a sweeper that died: %v, content %v, mark %v", err, s.Has(content), s.Has(mark))
	}
}

// What is put again is young again: it must outlive a sweep that has seen it old.
func TestAnOldContentIsYoungWhenItIsPutAgain(t *testing.T) {
	ctx, s := context.Background(), s3test.Start(t)
	b := open(t, s, "shop")
	sum, err := b.Put(ctx, []byte("x"))
	if err != nil {
		t.Fatal(err)
	}
	key := "shop/" + sum[:2] + "/" + sum
	s.Age(t, key, 48*time.Hour)
	if _, err := b.Put(ctx, []byte("x")); err != nil {
		t.Fatal(err)
	}
	if err := b.Delete(ctx, sum, time.Now().Add(-24*time.Hour)); err != nil || !s.Has(key) {
		t.Errorf("it is gone: %v", err)
	}
	s.Age(t, key, 48*time.Hour)
	if err := b.Delete(ctx, sum, time.Now().Add(-24*time.Hour)); err != nil || s.Has(key) || s.Has("shop/deleting/"+sum) {
		t.Errorf("it is still there, or its mark: %v", err)
	}
}

func TestAStorageThatIsAwayIsUnavailableAndComesBack(t *testing.T) {
	ctx, s := context.Background(), s3test.Start(t)
	b := open(t, s, "shop")
	sum, err := b.Put(ctx, []byte("kept"))
	if err != nil {
		t.Fatal(err)
	}
	s.Down()
	short, stop := context.WithTimeout(ctx, 20*time.Second)
	defer stop()
	_, err = b.Put(short, []byte("new"))
	_, _, err2 := b.Open(short, sum)
	for _, err := range []error{err, err2, b.Ping(short)} {
		if shop.KindOf(err) != shop.Unavailable && !errors.Is(err, context.DeadlineExceeded) {
			t.Errorf("a storage that is away: %v", err)
		}
	}
	s.Up(t)
	r, _, err := b.Open(ctx, sum)
	if err != nil {
		t.Fatal(err)
	}
	if got, err := io.ReadAll(r); err != nil || string(got) != "kept" {
		t.Errorf("%q, %v", got, err)
	}
	_ = r.Close() // only read
}

func TestABucketThatMayNotBeUsedIsRefusedAtTheStart(t *testing.T) {
	ctx, s := context.Background(), s3test.Start(t)
	for name, o := range map[string]bucket.Options{
		"a wrong secret":    {URL: s.URL(), KeyID: s3test.KeyID, Secret: "wrong"},
		"a bucket not made": {URL: strings.Replace(s.URL(), s3test.Name, "nobodys", 1), KeyID: s3test.KeyID, Secret: s3test.Secret},
	} {
		if _, err := bucket.Open(ctx, o); err == nil {
			t.Errorf("%s was taken", name)
		} else if strings.Contains(err.Error(), s3test.Secret) {
			t.Errorf("%s: the error tells the secret", name)
		}
	}
}

func TestABucketsURL(t *testing.T) {
	for _, u := range []string{"", "s3://", "https://host/bucket", "s3://user:pw@bucket", "s3://bucket?endpoint=host", "s3://bucket?endpoint=ftp://host", "s3://bucket?colour=red", "s3://bucket?region=a&region=b", "s3://bucket:1/x", "s3://bucket?endpoint=https://host/path"} {
		if _, _, _, _, _, err := bucket.Parse(u); err == nil {
			t.Errorf("%q was taken", u)
		}
	}
	endpoint, region, name, prefix, secure, err := bucket.Parse("s3://patterns/a//b/?endpoint=http://localhost:9&region=eu")
	if err != nil || endpoint != "localhost:9" || region != "eu" || name != "patterns" || prefix != "a/b/" || secure {
		t.Error(endpoint, region, name, prefix, secure, err)
	}
	if endpoint, _, _, prefix, secure, err := bucket.Parse("s3://patterns"); err != nil || endpoint != "s3.amazonaws.com" || prefix != "" || !secure {
		t.Error(endpoint, prefix, secure, err)
	}
}

func BenchmarkPut(b *testing.B) {
	f := open(b, s3test.Start(b), "bench")
	data := make([]byte, 150<<10) // a pattern of a dozen sizes
	b.SetBytes(int64(len(data)))
	for i := 0; b.Loop(); i++ {
		copy(data, fmt.Sprint(i))
		if _, err := f.Put(b.Context(), data); err != nil {
			b.Fatal(err)
		}
	}
}
