package document

import "sizerun/internal/pattern"

// ParseLength reads a length that carries its own unit: see pattern.ParseLength.
func ParseLength(s string) (mm float64, err error) { return pattern.ParseLength(s) }
