package redistest

import (
	"context"
	"errors"
	"fmt"
	"net"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/redis/go-redis/v9"

	"sizerun/internal/testkit"
)

// Cluster is a private Redis Cluster of three masters.
type Cluster struct{ nodes []*node }

// Sentinel is a private Redis with a replica, and three Sentinels that watch over both.
type Sentinel struct {
	redises, sentinels []*node
}

// Master is the name that the Sentinels know their Redis by.
const Master = "sizerun"

// node is one process, on a port of this machine: several must find each other, which sockets don't
// allow for.
type node struct {
	addr string
	proc *testkit.Process
}

func freePort(t testing.TB) string {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = l.Close() }() // only to be had again
	_, port, err := net.SplitHostPort(l.Addr().String())
	if err != nil {
		t.Fatal(err)
	}
	return port
}

func startNode(t testing.TB, port string, args ...string) *node {
	t.Helper()
	bin, err := exec.LookPath("redis-server")
	if err != nil {
		testkit.Missing(t, "redis-server", "redis-server")
	}
	dir := testkit.ShortDir(t)
	cmd := exec.Command(bin, append(args, "--port", port, "--bind", "127.0.0.1", "--dir", dir)...)
	cmd.Dir = dir
	n := &node{addr: net.JoinHostPort("127.0.0.1", port), proc: testkit.Start(t, cmd)}
	n.proc.Await(t, func() error {
		return n.do(func(ctx context.Context, c *redis.Client) error { return c.Ping(ctx).Err() })
	})
	return n
}

// do talks to the node alone.
func (n *node) do(f func(ctx context.Context, c *redis.Client) error) error {
	ctx, stop := context.WithTimeout(context.Background(), 5*time.Second)
	defer stop()
	c := redis.NewClient(&redis.Options{Addr: n.addr, MaxRetries: -1, Protocol: 2})
	defer func() { _ = c.Close() }() // it has done what it was for
	return f(ctx, c)
}

func addrs(ns []*node) string {
	var out []string
	for _, n := range ns {
		out = append(out, n.addr)
	}
	return strings.Join(out, ",")
}

// StartCluster starts a cluster for this test.
func StartCluster(t testing.TB) *Cluster {
	t.Helper()
	const slots, masters = 16384, 3
	c := &Cluster{}
	var buses []string
	for range masters {
		bus := freePort(t)
		buses = append(buses, bus)
		c.nodes = append(c.nodes, startNode(t, freePort(t), "--cluster-enabled", "yes", "--cluster-port", bus, "--cluster-node-timeout", "2000", "--save", "", "--appendonly", "no"))
	}
	for i, n := range c.nodes {
		err := n.do(func(ctx context.Context, r *redis.Client) error {
			return errors.Join(
				r.ClusterAddSlotsRange(ctx, i*slots/masters, (i+1)*slots/masters-1).Err(),
				r.Do(ctx, "CLUSTER", "SET-CONFIG-EPOCH", i+1).Err())
		})
		if err != nil {
			t.Fatal(err)
		}
	}
	for i, n := range c.nodes[1:] {
		_, port, _ := net.SplitHostPort(n.addr) // made above
		if err := c.nodes[0].do(func(ctx context.Context, r *redis.Client) error {
			return r.Do(ctx, "CLUSTER", "MEET", "127.0.0.1", port, buses[i+1]).Err()
		}); err != nil {
			t.Fatal(err)
		}
	}
	for _, n := range c.nodes {
		n.proc.Await(t, func() error {
			return n.do(func(ctx context.Context, r *redis.Client) error {
				s, err := r.ClusterInfo(ctx).Result()
				if err == nil && !(strings.Contains(s, "cluster_state:ok") && strings.Contains(s, fmt.Sprintf("cluster_known_nodes:%d", masters))) {
					err = errors.New(s)
				}
				return err
			})
		})
	}
	return c
}

// URL is how to reach it.
func (c *Cluster) URL() string { return "redis-cluster://" + addrs(c.nodes) }

// Flush makes it lose all that it holds.
func (c *Cluster) Flush(t testing.TB) {
	t.Helper()
	for _, n := range c.nodes {
		if err := n.do(func(ctx context.Context, r *redis.Client) error { return r.FlushAll(ctx).Err() }); err != nil {
			t.Fatal(err)
		}
	}
}

// StartSentinel starts a watched Redis for this test.
func StartSentinel(t testing.TB) *Sentinel {
	t.Helper()
	s := &Sentinel{}
	master := startNode(t, freePort(t), "--save", "", "--appendonly", "no")
	_, port, _ := net.SplitHostPort(master.addr) // made above
	replica := startNode(t, freePort(t), "--save", "", "--appendonly", "no", "--replicaof", "127.0.0.1 "+port, "--repl-diskless-sync-delay", "0")
	s.redises = []*node{master, replica}
	replica.proc.Await(t, func() error {
		return replica.do(func(ctx context.Context, c *redis.Client) error {
			info, err := c.Info(ctx, "replication").Result()
			if err == nil && !strings.Contains(info, "master_link_status:up") {
				err = errors.New(info)
			}
			return err
		})
	})
	for range 3 {
		file := filepath.Join(testkit.ShortDir(t), "sentinel.conf")
		conf := fmt.Sprintf("sentinel monitor %[1]s 127.0.0.1 %[2]s 2\nsentinel down-after-milliseconds %[1]s 500\nsentinel failover-timeout %[1]s 3000\n", Master, port)
		if err := os.WriteFile(file, []byte(conf), 0o600); err != nil {
			t.Fatal(err)
		}
		s.sentinels = append(s.sentinels, startNode(t, freePort(t), file, "--sentinel"))
	}
	// They have found each other and the replica: only then can they choose another master.
	for _, n := range s.sentinels {
		n.proc.Await(t, func() error {
			return n.do(func(ctx context.Context, c *redis.Client) error {
				m, err := c.Do(ctx, "SENTINEL", "CKQUORUM", Master).Text()
				if err == nil && !strings.HasPrefix(m, "OK 3") {
					err = errors.New(m)
				}
				if err != nil {
					return err
				}
				rs, err := c.Do(ctx, "SENTINEL", "REPLICAS", Master).Slice()
				if err == nil && len(rs) != 1 {
					err = fmt.Errorf("%d replicas", len(rs))
				}
				return err
			})
		})
	}
	return s
}

// URL is how to reach it.
func (s *Sentinel) URL() string {
	return "redis-sentinel://" + addrs(s.sentinels) + "?master=" + Master
}

// KillMaster kills the Redis that was the master from the start; the Sentinels make the replica one.
func (s *Sentinel) KillMaster() { s.redises[0].proc.Stop(syscall.SIGKILL) }
