package testkit

import (
	"bytes"
	"fmt"
	"os"
	"os/exec"
	"os/user"
	"runtime"
	"strconv"
	"sync"
	"syscall"
	"testing"
	"time"
)

// Process is a server that a test has started for itself.
type Process struct {
	cmd  *exec.Cmd
	out  bytes.Buffer
	done chan struct{}
}

// Start runs a server. It dies with the test's process, however that ends: the kernel ties a
// child to the thread that made it, so a goroutine keeps that thread until the server is gone.
func Start(t testing.TB, cmd *exec.Cmd) *Process {
	t.Helper()
	p := &Process{cmd: cmd, done: make(chan struct{})}
	cmd.Stdout, cmd.Stderr = &p.out, &p.out
	if cmd.SysProcAttr == nil {
		cmd.SysProcAttr = &syscall.SysProcAttr{}
	}
	tie(cmd.SysProcAttr)
	started := make(chan error)
	go func() {
		runtime.LockOSThread() // never unlocked: the thread ends with this goroutine
		err := cmd.Start()
		started <- err
		if err == nil {
			_ = cmd.Wait() // how it ended is for the test to judge
			close(p.done)
		}
	}()
	if err := <-started; err != nil {
		t.Fatalf("%s: %v", cmd.Path, err)
	}
	t.Cleanup(func() { p.Stop(syscall.SIGKILL) })
	return p
}

// PID is the server's process id, for whoever watches it from outside.
func (p *Process) PID() int { return p.cmd.Process.Pid }

// Stop sends the signal, waits for the end, and kills what does not end in ten seconds.
func (p *Process) Stop(s syscall.Signal) {
	select {
	case <-p.done:
		return
	default:
	}
	_ = p.cmd.Process.Signal(s) // it may just have ended
	select {
	case <-p.done:
	case <-time.After(10 * time.Second):
		_ = p.cmd.Process.Kill()
		<-p.done
	}
}

// Await calls ready until it answers nil, for at most twenty seconds and while the server runs.
func (p *Process) Await(t testing.TB, ready func() error) {
	t.Helper()
	var err error
	for end := time.Now().Add(20 * time.Second); time.Now().Before(end); time.Sleep(5 * time.Millisecond) {
		if err = ready(); err == nil {
			return
		}
		select {
		case <-p.done:
			t.Fatalf("%s ended: %s", p.cmd.Path, p.out.String())
		default:
		}
	}
	p.Stop(syscall.SIGKILL) // so that nothing writes to out any more
	t.Fatalf("%s is not ready: %v\n%s", p.cmd.Path, err, p.out.String())
}

// ShortDir makes a folder with a short path, which t.TempDir does not promise: a socket's path has
// at most 107 bytes. It is gone when the test ends.
func ShortDir(t testing.TB) string {
	t.Helper()
	dir, err := os.MkdirTemp("", "szr")
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := os.RemoveAll(dir); err != nil {
			t.Error(err)
		}
	})
	return dir
}

var findUser = sync.OnceValues(func() (*syscall.Credential, error) {
	for _, name := range []string{"postgres", "nobody"} {
		if u, err := user.Lookup(name); err == nil {
			uid, err1 := strconv.ParseUint(u.Uid, 10, 32)
			gid, err2 := strconv.ParseUint(u.Gid, 10, 32)
			if err1 == nil && err2 == nil {
				return &syscall.Credential{Uid: uint32(uid), Gid: uint32(gid)}, nil
			}
		}
	}
	return nil, fmt.Errorf("neither the user postgres nor nobody exists")
})

// Unprivileged answers the user that a server which refuses root can run as; nil when we are not
// root ourselves.
func Unprivileged(t testing.TB) *syscall.Credential {
	t.Helper()
	if os.Geteuid() != 0 {
		return nil
	}
	c, err := findUser()
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// Missing skips the test, or fails it when RequireEnv is 1: what it needs is in this package.
func Missing(t testing.TB, tool, pkg string) {
	t.Helper()
	if os.Getenv(RequireEnv) == "1" {
		t.Fatalf("%s is needed (%s=1): apt-get install -y %s", tool, RequireEnv, pkg)
	}
	t.Skipf("skipped: %s is not installed: apt-get install -y %s", tool, pkg)
}
