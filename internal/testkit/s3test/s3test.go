// Package s3test starts an object storage for a test: a real server that speaks S3 and checks
// signatures (versitygw, Apache-2.0, pinned in internal/tools/s3), its own, on a folder that nobody
// else knows. Without it the test is skipped, or fails when the gate asks for services.
package s3test

import (
	"fmt"
	"net"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"sizerun/internal/testkit"
)

// The key that the server knows.
const (
	KeyID  = "rookery"
	Secret = "lane-patterns-secret"
	// Name is the bucket that is there from the start.
	Name = "patterns"
)

// Server is a private object storage.
type Server struct {
	dir, bin, addr string
	proc           *testkit.Process
}

// binary builds the server once per test process; the build cache keeps it.
var binary = sync.OnceValues(func() (string, error) {
	if p, err := exec.LookPath("versitygw"); err == nil {
		return p, nil
	}
	_, here, _, ok := runtime.Caller(0)
	if !ok {
		return "", fmt.Errorf("the source folder is not known")
	}
	mod := filepath.Join(filepath.Dir(here), "..", "..", "tools", "s3", "go.mod")
	out, err := exec.Command("go", "tool", "-modfile="+mod, "-n", "versitygw").Output()
	return strings.TrimSpace(string(out)), err
})

// Start starts a server with an empty bucket.
func Start(t testing.TB) *Server {
	t.Helper()
	bin, err := binary()
	if err != nil {
		testkit.Missing(t, "versitygw", "a Go toolchain that can fetch modules (internal/tools/s3)")
	}
	s := &Server{dir: testkit.ShortDir(t), bin: bin}
	for _, d := range []string{filepath.Join("data", Name), "side"} {
		if err := os.MkdirAll(filepath.Join(s.dir, d), 0o700); err != nil {
			t.Fatal(err)
		}
	}
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	s.addr = l.Addr().String()
	if err := l.Close(); err != nil {
		t.Fatal(err)
	}
	s.Up(t)
	return s
}

// URL names the bucket, as the setting STORAGE_URL does.
func (s *Server) URL() string {
	q := url.Values{"endpoint": {"http://" + s.addr}, "region": {"us-east-1"}}
	return "s3://" + Name + "/shop?" + q.Encode()
}

// Up starts the server again after Down, with what it held.
func (s *Server) Up(t testing.TB) {
	t.Helper()
	cmd := exec.Command(s.bin, "--port", s.addr, "--access", KeyID, "--secret", Secret, "--quiet", "posix", "--sidecar", filepath.Join(s.dir, "side"), filepath.Join(s.dir, "data"))
	cmd.Dir = s.dir
	cmd.Env = []string{"PATH=" + os.Getenv("PATH"), "HOME=" + s.dir}
	s.proc = testkit.Start(t, cmd)
	s.proc.Await(t, func() error {
		c, err := net.Dial("tcp", s.addr)
		if err != nil {
			return err
		}
		return c.Close()
	})
}

// Down kills the server.
func (s *Server) Down() { s.proc.Stop(syscall.SIGKILL) }

func (s *Server) file(key string) string {
	return filepath.Join(s.dir, "data", Name, filepath.FromSlash(key))
}

// Has reports whether an object is there, without asking the server.
func (s *Server) Has(key string) bool {
	_, err := os.Stat(s.file(key))
	return err == nil
}

// Write puts an empty object behind the server's back.
func (s *Server) Write(t testing.TB, key string) {
	t.Helper()
	if err := os.MkdirAll(filepath.Dir(s.file(key)), 0o700); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(s.file(key), nil, 0o600); err != nil {
		t.Fatal(err)
	}
}

// Remove takes an object away behind the server's back.
func (s *Server) Remove(t testing.TB, key string) {
	t.Helper()
	if err := os.Remove(s.file(key)); err != nil {
		t.Fatal(err)
	}
}

// Age makes an object older.
func (s *Server) Age(t testing.TB, key string, by time.Duration) {
	t.Helper()
	at := time.Now().Add(-by)
	if err := os.Chtimes(s.file(key), at, at); err != nil {
		t.Fatal(err)
	}
}
