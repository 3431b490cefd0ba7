package pattern

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"unicode/utf8"
)

// Inch in millimetres, exact since 1 July 1959 (Addendum to NBS Circular 572).
const Inch = 25.4

// PerMM is what one of each unit of a document is in millimetres.
func PerMM(unit string) (float64, bool) {
	switch unit {
	case "mm":
		return 1, true
	case "cm":
		return 10, true
	case "in":
		return Inch, true
	}
	return 0, false
}

// Millimetres is v units of per mm. The inch's tenth is taken last: 1.5 in is the number 38.1, which
// 1.5 × 25.4 in binary is not.
func Millimetres(v, per float64) float64 { return v * (per * 10) / 10 }

const (
	lengthRule   = `digits and a unit: "12.7mm", "4cm", "2in", "5/8in", "1 1/2in"`
	lengthRemedy = "write a number or a fraction followed by mm, cm or in"
)

// ParseLength reads a length that carries its own unit, the way makers write it, in millimetres:
//
//	[-] number [space] unit         12.7mm  -4 cm
//	[-] [whole space] n/d unit      5/8in  1 1/2in
//	[-] [whole [space]] ½ unit      ½in  1¾in  1 ¾in
//
// Every Unicode fraction that tells both its parts is read, and U+2044 as a slash, in any unit.
// The error is a Fault without a pointer.
func ParseLength(s string) (mm float64, err error) {
	fail := func(why string) (float64, error) {
		return 0, Fault{Rule: "length", Detail: fmt.Sprintf("%s is no length: %s", Quote(s), why), Valid: lengthRule, Remedy: lengthRemedy}
	}
	const longest = 40
	if len(s) > longest {
		return fail(fmt.Sprintf("it is longer than %d bytes", longest))
	}
	number := strings.TrimRight(s, "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ\"'″′")
	unit := s[len(number):]
	per, ok := PerMM(unit)
	if !ok {
		if unit == "" {
			return fail("it has no unit")
		}
		return fail(fmt.Sprintf("%s is not one of the units mm, cm, in", Quote(unit)))
	}
	number = strings.TrimSuffix(number, " ")
	sign := 1.0
	if strings.HasPrefix(number, "-") {
		sign, number = -1, number[1:]
	}
	top, bottom, why := parts(number)
	if why != "" {
		return fail(why)
	}
	mm = sign * Millimetres(top, per) / bottom
	switch {
	case math.Abs(mm) > MaxPlaceLength:
		return fail("it is longer than 20 m")
	case mm == 0 && sign < 0:
		return fail("it is minus zero")
	}
	return mm, nil
}

// parts reads a number as a fraction top/bottom; why tells what is wrong with it.
func parts(s string) (top, bottom float64, why string) {
	if s == "" {
		return 0, 0, "it has no number"
	}
	if d, ok := decimal(s); ok {
		return d, 1, ""
	}
	whole, rest := 0.0, s
	w, r, found := strings.Cut(s, " ")
	if last, n := utf8.DecodeLastRuneInString(s); !found && len(s) > n {
		if _, _, ok := vulgar(last); ok {
			w, r, found = s[:len(s)-n], s[len(s)-n:], true
		}
	}
	if found {
		d, ok := integer(w)
		if !ok {
			return 0, 0, "only a whole number may stand before a fraction"
		}
		whole, rest = d, r
	}
	top, bottom, ok := fraction(rest)
	switch {
	case !ok:
		return 0, 0, "its number cannot be read"
	case bottom == 0:
		return 0, 0, "its fraction divides by nothing"
	case bottom > 1000:
		return 0, 0, "its fraction is finer than 1/1000"
	}
	return whole*bottom + top, bottom, ""
}

// decimal reads 12 or 12.5: digits on both sides of a point, no sign, exponent or word.
func decimal(s string) (float64, bool) {
	a, b, dot := strings.Cut(s, ".")
	if !digits(a) || dot && !digits(b) {
		return 0, false
	}
	f, err := strconv.ParseFloat(s, 64)
	return f, err == nil
}

func integer(s string) (float64, bool) {
	if len(s) > 6 || !digits(s) {
		return 0, false
	}
	f, err := strconv.ParseFloat(s, 64)
	return f, err == nil
}

func digits(s string) bool { return s != "" && strings.Trim(s, "0123456789") == "" }

// fraction reads 5/8, 5⁄8 or one Unicode fraction.
func fraction(s string) (top, bottom float64, ok bool) {
	if r, n := utf8.DecodeRuneInString(s); n == len(s) {
		if t, b, ok := vulgar(r); ok {
			return t, b, true
		}
	}
	a, b, found := strings.Cut(strings.Replace(s, "⁄", "/", 1), "/")
	if !found {
		return 0, 0, false
	}
	top, ok1 := integer(a)
	bottom, ok2 := integer(b)
	return top, bottom, ok1 && ok2
}

// vulgar knows the fractions of Unicode's Latin-1 and Number Forms blocks that have both parts.
func vulgar(r rune) (top, bottom float64, ok bool) {
	const list = "½1/2⅓1/3⅔2/3¼1/4¾3/4⅕1/5⅖2/5⅗3/5⅘4/5⅙1/6⅚5/6⅐1/7⅛1/8⅜3/8⅝5/8⅞7/8⅑1/9⅒1/10"
	if r < utf8.RuneSelf {
		return 0, 0, false
	}
	_, rest, found := strings.Cut(list, string(r))
	if !found {
		return 0, 0, false
	}
	n, d, _ := strings.Cut(rest, "/")
	if r == '⅒' {
		return 1, 10, true
	}
	return float64(n[0] - '0'), float64(d[0] - '0'), true
}
