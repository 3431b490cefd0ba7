package embedded

import (
	"fmt"
	"os"
	"path/filepath"
)

// Lock makes this process the only one that makes runs out of the folder. The lock goes with the
// process, however it ends.
func Lock(dir string) (release func() error, err error) {
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return nil, fmt.Errorf("embedded store: %w", err)
	}
	f, err := os.OpenFile(filepath.Join(dir, "lock"), os.O_CREATE|os.O_RDWR, 0o600)
	if err != nil {
		return nil, fmt.Errorf("embedded store: %w", err)
	}
	if err := lockFile(f); err != nil {
		_ = f.Close()
		return nil, fmt.Errorf("embedded store: another process serves the folder %s; stop it, or set SIZERUN_DATA to another folder: %w", dir, err)
	}
	return f.Close, nil
}
