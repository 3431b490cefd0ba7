package config_test

import (
	"fmt"
	"io/fs"
	"strings"
	"testing"

	"sizerun/internal/config"
)

func line(t *testing.T, ls []config.Line, name string) config.Line {
	t.Helper()
	for _, l := range ls {
		if l.Name == name {
			return l
		}
	}
	t.Fatalf("%s is not told of", name)
	return config.Line{}
}

func TestEverySettingIsExplainedWithWhereItCameFrom(t *testing.T) {
	ls := config.Explain([]string{"SIZERUN_ADDR=:9000", "REDIS_URL_FILE=/run/secrets/redis", "SIZERUN_MAX_TRIES=many"}, func(path string) ([]byte, error) {
		if path == "/run/secrets/redis" {
			return []byte("redis://:s3cr3t@h:6379/0\n"), nil
		}
		return nil, fs.ErrNotExist
	})
	for name := range strings.Lines(config.Help()) {
		if name, _, _ := strings.Cut(name, " "); name == strings.ToUpper(name) {
			line(t, ls, name)
		}
	}
	for name, want := range map[string]string{
		"SIZERUN_ADDR": ":9000 environment false", "SIZERUN_RUN_TIME": "5m default false", "DATABASE_URL": "(not set) default false",
		"REDIS_URL": "redis://:…@h:6379/0 file false", "SIZERUN_MAX_TRIES": "(not valid, so not shown) environment true",
	} {
		if l := line(t, ls, name); fmt.Sprint(l.Shown, " ", l.From, " ", l.Wrong) != want {
			t.Errorf("%s: %+v, want %s", name, l, want)
		}
	}
}

// Wherever a secret may stand, it is not shown.
func TestNoSecretIsShown(t *testing.T) {
	const secret = "s3cr3t"
	for _, c := range []struct{ name, value string }{
		{"STORAGE_SECRET", secret}, {"STORAGE_KEY_ID", secret}, {"SIZERUN_ADDR", secret}, {"SIZERUN_LOG", secret},
		{"DATABASE_URL", "postgres://u:" + secret + "@h:5432/d?sslmode=disable"},
		{"DATABASE_URL", "postgres://h/d?user=u&password=" + secret},
		{"DATABASE_URL", "postgres://h/d?user=u&sslpassword=" + secret},
		{"DATABASE_URL", "postgres://h/d?pass%77ord=" + secret},
		{"DATABASE_URL", "postgres://u:a@" + secret + "@h/d"},
		{"DATABASE_URL", "postgres://u:a?" + secret + "@h/d"},
		{"DATABASE_URL", "postgres://u:a#" + secret + "@h/d"},
		{"DATABASE_URL", "postgres://u:a/" + secret + "@h/d"},
		{"DATABASE_URL", secret},
		{"REDIS_URL", "redis-sentinel://:" + secret + "@h1:26379,h2:26379/2?master=m"},
		{"REDIS_URL", "redis-sentinel://h1:26379,h2:26379/2?master=m&sentinel_password=" + secret},
		{"REDIS_URL", "redis-cluster://u:" + secret + "@h1:6379,h2:6379"},
	} {
		for _, env := range [][]string{{c.name + "=" + c.value}, {c.name + "_FILE=f"}, {c.name + "_FILE=" + c.value, c.name + "=" + c.value}} {
			ls := config.Explain(env, func(path string) ([]byte, error) {
				if path != "f" {
					return nil, fs.ErrNotExist
				}
				return []byte(c.value + "\n"), nil
			})
			if text := fmt.Sprintf("%+v", ls); strings.Contains(text, secret) {
				t.Errorf("%s=%s: %+v", c.name, c.value, line(t, ls, c.name))
			}
		}
	}
}
