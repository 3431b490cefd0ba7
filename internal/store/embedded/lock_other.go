//go:build !unix

package embedded

import "os"

// Elsewhere there is no such lock in the standard library; the fence of each run still holds.
func lockFile(*os.File) error { return nil }

func waitLock(*os.File) error { return nil }
