package shop

import "errors"

// KeyReused says whether err refuses an idempotency key because it came with another body.
func KeyReused(err error) bool { return errors.Is(err, errKeyReused) }
