package main

import (
	"context"
	"crypto/rand"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"text/tabwriter"
	"time"

	"sizerun/internal/config"
	"sizerun/internal/files"
	"sizerun/internal/files/bucket"
	"sizerun/internal/hooks"
	"sizerun/internal/queue"
	"sizerun/internal/shop"
	"sizerun/internal/store/postgres"
)

type configCmd struct {
	Check configCheckCmd `cmd:"" help:"Print every setting, where it came from, and whether it will do."`
}

type configCheckCmd struct {
	For     string `default:"serve" enum:"serve,api,worker,migrate,key" help:"What the process will do: serve, api, worker, migrate or key."`
	Connect bool   `help:"Also reach for PostgreSQL, Redis and the storage, and see whether the folders can be written to."`
}

// reachTime is how long one of the servers has to answer.
const reachTime = 10 * time.Second

// Run exits with 2 when a setting is wrong or lacking, and with 1 when something can't be reached.
func (c *configCheckCmd) Run(ctx context.Context, t *terminal) error {
	tw := tabwriter.NewWriter(t.out, 0, 4, 2, ' ', 0)
	fmt.Fprintln(tw, "setting\tfrom\tvalue")
	for _, l := range config.ExplainEnv() {
		fmt.Fprintf(tw, "%s\t%s\t%s\n", l.Name, l.From, oneLine(l.Shown))
	}
	if err := tw.Flush(); err != nil {
		return err
	}
	cfg, err := config.FromEnv()
	if err == nil {
		err = errors.Join(cfg.Need(config.Mode(c.For)), fits(cfg))
	}
	for _, name := range cfg.Unknown {
		fmt.Fprintf(t.out, "\n%s is not known; is it misspelt?\n", name)
	}
	if err != nil {
		fmt.Fprintf(t.err, "\n%v\n", err)
		return quiet(exitRefused)
	}
	if !c.Connect {
		fmt.Fprintf(t.out, "\nthe settings will do for “%s”\n", c.For)
		return nil
	}
	fmt.Fprintln(t.out)
	failed := false
	for _, r := range reaches(cfg) {
		one, stop := context.WithTimeout(ctx, reachTime)
		says, err := r.try(one)
		stop()
		if err != nil {
			failed = true
			fmt.Fprintf(t.out, "FAILED  %s: %s\n", r.what, oneLine(err.Error()))
			continue
		}
		fmt.Fprintf(t.out, "ok      %s%s\n", r.what, says)
	}
	if failed {
		return quiet(exitFailed)
	}
	return nil
}

// fits reads what only the parts themselves can read. None of their errors repeats the value.
func fits(cfg config.Config) error {
	var faults []error
	if cfg.RedisURL != "" {
		if q, err := queue.Open(cfg.RedisURL); err != nil {
			faults = append(faults, fmt.Errorf("REDIS_URL: %w", err))
		} else {
			faults = append(faults, q.Close())
		}
	}
	if cfg.StorageURL != "" {
		if _, _, _, _, _, err := bucket.Parse(cfg.StorageURL); err != nil {
			faults = append(faults, fmt.Errorf("STORAGE_URL: %w", err))
		}
	}
	if _, err := hooks.ReadGuard(cfg.HookAllow); err != nil {
		faults = append(faults, errors.New("SIZERUN_WEBHOOK_ALLOW: one of it is neither a host nor a network")) // err repeats it
	}
	return errors.Join(faults...)
}

// reach is one thing that a process with these settings stands on.
type reach struct {
	what string
	try  func(ctx context.Context) (says string, err error)
}

func reaches(cfg config.Config) []reach {
	var out []reach
	if cfg.DatabaseURL == "" {
		out = append(out, reach{"the folder of the embedded store (SIZERUN_DATA)", func(context.Context) (string, error) { return writable(cfg.DataDir) }})
	} else {
		out = append(out, reach{"PostgreSQL (DATABASE_URL)", func(ctx context.Context) (string, error) {
			current, err := postgres.Current(ctx, cfg.DatabaseURL)
			if err != nil {
				// The driver's own words name the host and the user, and never the password.
				return "", err
			}
			if !current {
				return "; its schema lacks migrations: run “sizerun migrate”", nil
			}
			return ", and its schema is this program's", nil
		}})
	}
	if cfg.RedisURL != "" {
		out = append(out, reach{"Redis (REDIS_URL)", func(ctx context.Context) (string, error) {
			q, err := queue.Open(cfg.RedisURL)
			if err != nil {
				return "", err
			}
			err = q.Ping(ctx)
			says := ""
			if p := q.Policy(ctx); err == nil && p != "" && p != "noeviction" {
				says = "; its maxmemory-policy is " + p + ", so it may drop what waits: set noeviction"
			}
			return says, errors.Join(err, q.Close())
		}})
	}
	if cfg.StorageURL != "" {
		out = append(out, reach{"the storage (STORAGE_URL)", func(ctx context.Context) (string, error) {
			b, err := bucket.Open(ctx, bucket.Options{URL: cfg.StorageURL, KeyID: cfg.StorageKey, Secret: cfg.StorageWord})
			if err != nil {
				return "", err
			}
			return ", written to and read from", carry(ctx, b)
		}})
	} else {
		out = append(out, reach{"the folder of files (STORAGE_DIR)", func(ctx context.Context) (string, error) {
			if _, err := os.Stat(cfg.StorageDir); err != nil {
				return writable(cfg.StorageDir)
			}
			d, err := files.NewDisk(cfg.StorageDir)
			if err != nil {
				return "", err
			}
			return ", written to and read from", carry(ctx, d)
		}})
	}
	return out
}

// carry keeps a content that nobody else has, reads it back and takes it away.
func carry(ctx context.Context, f shop.Files) error {
	word := "sizerun config check " + rand.Text()
	sum, err := f.Put(ctx, []byte(word))
	if err != nil {
		return err
	}
	rd, _, err := f.Open(ctx, sum)
	if err == nil {
		var b []byte
		b, err = io.ReadAll(rd)
		_ = rd.Close() // only read
		if err == nil && string(b) != word {
			err = errors.New("what was written is not what is read")
		}
	}
	return errors.Join(err, f.Delete(ctx, sum, time.Now().Add(time.Hour)))
}

// writable says whether a folder, or the one that it will be made in, can be written to.
func writable(dir string) (string, error) {
	at, says := filepath.Clean(dir), ""
	for {
		info, err := os.Stat(at)
		if err == nil && !info.IsDir() {
			return "", fmt.Errorf("%s is no folder", at)
		}
		if err == nil {
			break
		}
		if !errors.Is(err, os.ErrNotExist) || filepath.Dir(at) == at {
			return "", err
		}
		at, says = filepath.Dir(at), "; it will be made"
	}
	f, err := os.CreateTemp(at, ".sizerun-check-*")
	if err != nil {
		return "", err
	}
	return says, errors.Join(f.Close(), os.Remove(f.Name()))
}

// oneLine keeps a value from forging lines on the operator's screen.
func oneLine(s string) string {
	out := []rune(s)
	for i, r := range out {
		if r < ' ' || r == 0x7f || r == 0x2028 || r == 0x2029 {
			out[i] = ' '
		}
	}
	return string(out)
}
