package config_test

import (
	"errors"
	"fmt"
	"io/fs"
	"log/slog"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"sizerun/internal/config"
)

func noFiles(string) ([]byte, error) { return nil, fs.ErrNotExist }

func TestNothingSetIsTheEmbeddedDefault(t *testing.T) {
	c, err := config.Load(nil, noFiles)
	if err != nil {
		t.Fatal(err)
	}
	if c.Addr != ":8080" || c.DataDir != "./sizerun-data" || c.StorageDir != filepath.Join("sizerun-data", "files") ||
		c.DatabaseURL != "" || c.RedisURL != "" || c.MaxTries != 3 || c.RunTime != 5*time.Minute || c.Concurrency < 1 || c.LogLevel != slog.LevelInfo {
		t.Errorf("%+v", c)
	}
	if err := c.Need(config.Serve); err != nil {
		t.Error(err)
	}
	if err := c.Need(config.Worker); err == nil || !strings.Contains(err.Error(), "DATABASE_URL") || !strings.Contains(err.Error(), "REDIS_URL") {
		t.Errorf("a worker needs both, and is told: %v", err)
	}
}

func TestAKeyToTheStorageIsWholeOrNotThere(t *testing.T) {
	for _, one := range []string{"STORAGE_KEY_ID=rookery", "STORAGE_SECRET=lane"} {
		if _, err := config.Load([]string{one}, noFiles); err == nil || !strings.Contains(err.Error(), "belong together") {
			t.Errorf("%s alone: %v", one, err)
		}
	}
	c, err := config.Load([]string{"STORAGE_KEY_ID=rookery", "STORAGE_SECRET=lane", "STORAGE_URL=s3://patterns"}, noFiles)
	if err != nil || c.StorageKey != "rookery" || c.StorageWord != "lane" || c.StorageURL != "s3://patterns" {
		t.Errorf("%+v, %v", c, err)
	}
}

func TestAllFaultsAreToldAtOnceAndNoneTellsTheValue(t *testing.T) {
	const secret = "s3cr3t"
	bad := map[string]string{
		"SIZERUN_ADDR": secret, "SIZERUN_PUBLIC_URL": "ftp://" + secret, "DATABASE_URL": "mysql://u:" + secret + "@h/d",
		"REDIS_URL": secret, "SIZERUN_DB_CONNS": secret, "SIZERUN_CONCURRENCY": "0", "SIZERUN_RUN_TIME": secret, "SIZERUN_MAX_TRIES": "-1",
		"SIZERUN_MAX_PENDING": "1e9", "SIZERUN_IN_FLIGHT": secret, "SIZERUN_MAX_BODY": "12", "SIZERUN_DRAIN": "1 minute", "SIZERUN_LOG": secret, "SIZERUN_LOG_LEVEL": secret, "STORAGE_URL": "https://" + secret,
	}
	var env []string
	for k, v := range bad {
		env = append(env, k+"="+v)
	}
	_, err := config.Load(env, noFiles)
	if err == nil {
		t.Fatal("all were accepted")
	}
	for k := range bad {
		if !strings.Contains(err.Error(), k+":") {
			t.Errorf("%s is not named", k)
		}
	}
	if strings.Contains(err.Error(), secret) {
		t.Errorf("a value is repeated: %v", err)
	}
}

func TestASecretMayComeFromAFile(t *testing.T) {
	read := func(path string) ([]byte, error) {
		if path == "/run/secrets/db" {
			return []byte("postgres://u:p@h/d\n"), nil
		}
		return nil, &fs.PathError{Op: "open", Path: path, Err: fs.ErrNotExist}
	}
	c, err := config.Load([]string{"DATABASE_URL_FILE=/run/secrets/db"}, read)
	if err != nil || c.DatabaseURL != "postgres://u:p@h/d" {
		t.Errorf("%q, %v", c.DatabaseURL, err)
	}
	_, err = config.Load([]string{"DATABASE_URL_FILE=/run/secrets/db", "DATABASE_URL=postgres://x"}, read)
	if err == nil || !strings.Contains(err.Error(), "both set") {
		t.Errorf("both at once: %v", err)
	}
	_, err = config.Load([]string{"REDIS_URL_FILE=redis://:s3cr3t@h"}, read)
	if err == nil || !strings.Contains(err.Error(), "REDIS_URL_FILE") || strings.Contains(err.Error(), "s3cr3t") {
		t.Errorf("a missing file: %v", err)
	}
	_, err = config.Load([]string{"REDIS_URL_FILE=x"}, func(string) ([]byte, error) { return nil, errors.New("s3cr3t") })
	if err == nil || strings.Contains(err.Error(), "s3cr3t") {
		t.Errorf("an unreadable file: %v", err)
	}
}

func TestAMistypedVariableIsNamed(t *testing.T) {
	c, err := config.Load([]string{"SIZERUN_CONCURENCY=4", "PATH=/bin"}, noFiles)
	if err != nil || len(c.Unknown) != 1 || c.Unknown[0] != "SIZERUN_CONCURENCY" {
		t.Errorf("%v, %v", c.Unknown, err)
	}
}

func TestHelpNamesEverySettingThatIsRead(t *testing.T) {
	for _, name := range []string{"SIZERUN_ADDR", "SIZERUN_DATA", "STORAGE_DIR", "DATABASE_URL", "REDIS_URL", "SIZERUN_CONCURRENCY"} {
		if !strings.Contains(config.Help(), name+" ") {
			t.Errorf("%s is not in the help", name)
		}
	}
}

func TestTrustedProxiesAreNetworksOrAddresses(t *testing.T) {
	c, err := config.Load([]string{"SIZERUN_TRUSTED_PROXIES=10.1.2.3/8, 192.0.2.7,2001:db8::/32"}, nil)
	if err != nil {
		t.Fatal(err)
	}
	if got := fmt.Sprint(c.Proxies); got != "[10.0.0.0/8 192.0.2.7/32 2001:db8::/32]" {
		t.Error(got)
	}
	if _, err := config.Load([]string{"SIZERUN_TRUSTED_PROXIES=everybody"}, nil); err == nil || strings.Contains(err.Error(), "everybody") {
		t.Errorf("got %v", err)
	}
}

// TestREADMENamesEverySetting keeps the table that operators read in step with the one that is read.
func TestREADMENamesEverySetting(t *testing.T) {
	b, err := os.ReadFile(filepath.Join("..", "..", "README.md"))
	if err != nil {
		t.Fatal(err)
	}
	for line := range strings.Lines(config.Help()) {
		if name, _, _ := strings.Cut(line, " "); name == strings.ToUpper(name) && !strings.Contains(string(b), "`"+name+"`") {
			t.Errorf("README.md does not tell of %s", name)
		}
	}
}
