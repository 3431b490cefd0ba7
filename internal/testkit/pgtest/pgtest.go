// Package pgtest starts a PostgreSQL for a test: its own, in a folder of its own, on a socket that
// nobody else knows. Servers that run already are never touched. Without the programs the test is
// skipped, or fails when the gate asks for services.
package pgtest

import (
	"context"
	"fmt"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"sort"
	"sync/atomic"
	"syscall"
	"testing"

	"github.com/jackc/pgx/v5"

	"sizerun/internal/testkit"
)

// Server is a private PostgreSQL.
type Server struct {
	dir, bin string
	proc     *testkit.Process
	template string
	n        atomic.Int64
}

// find answers the folder of PostgreSQL's programs: on the PATH, or where Debian puts them.
func find(t testing.TB) string {
	t.Helper()
	if p, err := exec.LookPath("initdb"); err == nil {
		return filepath.Dir(p)
	}
	found, _ := filepath.Glob("/usr/lib/postgresql/*/bin/initdb") // the pattern is well formed
	if len(found) == 0 {
		testkit.Missing(t, "PostgreSQL", "postgresql")
	}
	sort.Slice(found, func(i, j int) bool {
		return len(found[i]) < len(found[j]) || len(found[i]) == len(found[j]) && found[i] < found[j]
	})
	return filepath.Dir(found[len(found)-1])
}

// Start starts a server for this test. prepare, when not nil, gets the URL of a database that every
// later one is a copy of.
func Start(t testing.TB, prepare func(url string) error) *Server {
	t.Helper()
	s := &Server{bin: find(t), dir: testkit.ShortDir(t), template: "template0"}
	cred := testkit.Unprivileged(t)
	if cred != nil {
		if err := os.Chown(s.dir, int(cred.Uid), int(cred.Gid)); err != nil {
			t.Fatal(err)
		}
	}
	initdb := exec.Command(filepath.Join(s.bin, "initdb"), "-D", filepath.Join(s.dir, "data"), "-U", "test", "-A", "trust", "--locale=C", "-E", "UTF8", "--no-sync")
	initdb.Dir, initdb.SysProcAttr = s.dir, &syscall.SysProcAttr{Credential: cred}
	if out, err := initdb.CombinedOutput(); err != nil {
		t.Fatalf("initdb: %v\n%s", err, out)
	}
	s.Up(t)
	if prepare != nil {
		s.sql(t, "CREATE DATABASE prepared")
		if err := prepare(s.url("prepared")); err != nil {
			t.Fatal(err)
		}
		s.template = "prepared"
	}
	return s
}

// Up starts the server again after Down. What was committed is still there: without fsync it
// outlives the server, though not the machine.
func (s *Server) Up(t testing.TB) {
	t.Helper()
	cmd := exec.Command(filepath.Join(s.bin, "postgres"), "-D", filepath.Join(s.dir, "data"), "-k", s.dir, "-c", "listen_addresses=",
		"-c", "fsync=off", "-c", "full_page_writes=off", "-c", "autovacuum=off", "-c", "max_connections=200")
	cmd.Dir, cmd.SysProcAttr = s.dir, &syscall.SysProcAttr{Credential: testkit.Unprivileged(t)}
	s.proc = testkit.Start(t, cmd)
	s.proc.Await(t, func() error {
		c, err := pgx.Connect(context.Background(), s.url("postgres"))
		if err != nil {
			return err
		}
		return c.Close(context.Background())
	})
}

// Down stops the server in the middle of whatever it does; every connection breaks.
func (s *Server) Down() { s.proc.Stop(syscall.SIGQUIT) }

// Database makes a database for this test and answers its URL.
func (s *Server) Database(t testing.TB) string {
	t.Helper()
	name := fmt.Sprintf("test%d", s.n.Add(1))
	s.sql(t, "CREATE DATABASE "+name+" TEMPLATE "+s.template+" STRATEGY file_copy")
	return s.url(name)
}

func (s *Server) url(database string) string {
	q := url.Values{"host": {s.dir}, "user": {"test"}, "sslmode": {"disable"}}
	return "postgres:///" + database + "?" + q.Encode()
}

func (s *Server) sql(t testing.TB, text string) {
	t.Helper()
	ctx := context.Background()
	c, err := pgx.Connect(ctx, s.url("postgres"))
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = c.Close(ctx) }() // it has done what it was for
	if _, err := c.Exec(ctx, text); err != nil {
		t.Fatal(err)
	}
}
