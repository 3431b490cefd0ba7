// Package redistest starts a Redis for a test: its own, on a socket that nobody else knows.
// Servers that run already are never touched. Without the program the test is skipped, or fails
// when the gate asks for services.
package redistest

import (
	"context"
	"net"
	"os/exec"
	"path/filepath"
	"syscall"
	"testing"

	"github.com/redis/go-redis/v9"

	"sizerun/internal/testkit"
)

// Server is a private Redis.
type Server struct {
	dir, bin string
	proc     *testkit.Process
}

// Start starts a server for this test. It keeps nothing on disk.
func Start(t testing.TB) *Server {
	t.Helper()
	bin, err := exec.LookPath("redis-server")
	if err != nil {
		testkit.Missing(t, "redis-server", "redis-server")
	}
	s := &Server{dir: testkit.ShortDir(t), bin: bin}
	s.Up(t)
	return s
}

// URL is how to reach it.
func (s *Server) URL() string { return "redis-socket://" + s.socket() }

func (s *Server) socket() string { return filepath.Join(s.dir, "s") }

// Up starts the server again after Down: empty.
func (s *Server) Up(t testing.TB) {
	t.Helper()
	cmd := exec.Command(s.bin, "--port", "0", "--unixsocket", s.socket(), "--save", "", "--appendonly", "no", "--dir", s.dir)
	cmd.Dir = s.dir
	s.proc = testkit.Start(t, cmd)
	s.proc.Await(t, func() error {
		c, err := net.Dial("unix", s.socket())
		if err != nil {
			return err
		}
		return c.Close()
	})
}

// Down kills the server; all that it held is lost.
func (s *Server) Down() { s.proc.Stop(syscall.SIGKILL) }

// Flush makes it lose all that it holds, and go on.
func (s *Server) Flush(t testing.TB) {
	t.Helper()
	c := redis.NewClient(&redis.Options{Network: "unix", Addr: s.socket()})
	defer func() { _ = c.Close() }() // it has done what it was for
	if err := c.FlushAll(context.Background()).Err(); err != nil {
		t.Fatal(err)
	}
}

// Policy sets what it does when its memory is full.
func (s *Server) Policy(t testing.TB, policy string) {
	t.Helper()
	c := redis.NewClient(&redis.Options{Network: "unix", Addr: s.socket()})
	defer func() { _ = c.Close() }() // it has done what it was for
	if err := c.ConfigSet(context.Background(), "maxmemory-policy", policy).Err(); err != nil {
		t.Fatal(err)
	}
}
