package pattern

import (
	"fmt"
	"strconv"
	"strings"
)

// Inch is exact since 1959 (Addendum to NBS Circular 572).
const Inch = 25.4

// ParseLength reads a length that carries its own unit, the way makers write it: "12.7mm", "4 cm",
// "5/8in", "1 1/2in", "-2in". The answer is in millimetres.
func ParseLength(s string) (mm float64, err error) {
	bad := func(detail string) (float64, error) {
		return 0, Fault{Rule: "bad_length", Detail: fmt.Sprintf("%s is not a length: %s", Quote(s), detail),
			Valid: `a number with its unit: "12.7mm", "4cm", "5/8in", "1 1/2in"`, Remedy: "write the number, then mm, cm or in"}
	}
	t := s
	if len(t) > 40 {
		return bad("it is too long")
	}
	per := 0.0
	for _, u := range [...]struct {
		name string
		mm   float64
	}{{"mm", 1}, {"cm", 10}, {"in", Inch}} {
		if strings.HasSuffix(t, u.name) {
			t, per = strings.TrimSuffix(t, u.name), u.mm
			break
		}
	}
	if per == 0 {
		return bad("it has no unit")
	}
	t = strings.TrimSuffix(t, " ")
	sign := 1.0
	if strings.HasPrefix(t, "-") {
		sign, t = -1, t[1:]
	}
	whole, frac, two := strings.Cut(t, " ")
	if !two && strings.Contains(t, "/") {
		whole, frac = "0", t
	}
	v, ok := decimal(whole)
	if !ok {
		return bad("its number cannot be read")
	}
	if two || frac != "" {
		a, b, slash := strings.Cut(frac, "/")
		x, ok1 := decimal(a)
		y, ok2 := decimal(b)
		if !slash || !ok1 || !ok2 || strings.ContainsAny(frac+whole, ".") {
			return bad("its fraction cannot be read")
		}
		if y == 0 {
			return bad("its fraction divides by nothing")
		}
		v += x / y
	}
	return sign * v * per, nil
}

// decimal reads digits with at most one point between them: no sign, exponent or word.
func decimal(s string) (float64, bool) {
	if s == "" || strings.Trim(s, "0123456789.") != "" || s[0] == '.' || s[len(s)-1] == '.' {
		return 0, false
	}
	v, err := strconv.ParseFloat(s, 64)
	return v, err == nil
}
