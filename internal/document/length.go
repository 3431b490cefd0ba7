package document

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"unicode/utf8"

	"sizerun/internal/pattern"
)

// perMM is what one of each unit is in millimetres. The inch is exactly 25.4 mm since 1 July 1959
// (Addendum to NBS Circular 572).
func perMM(unit string) (float64, bool) {
	switch unit {
	case "mm":
		return 1, true
	case "cm":
		return 10, true
	case "in":
		return 25.4, true
	}
	return 0, false
}

const (
	lengthRule   = `digits and a unit: "12.7mm", "4cm", "2in", "5/8in", "1 1/2in"`
	lengthRemedy = "write a number or a fraction followed by mm, cm or in"
)

// ParseLength reads a length that carries its own unit: a decimal number, a fraction, a whole
// number and a fraction, or a Unicode fraction (½, 1¾), then mm, cm or in. A sign may stand
// before it and spaces between its parts. The error is a pattern.Fault without a pointer.
func ParseLength(s string) (mm float64, err error) {
	fail := func(why string) (float64, error) {
		return 0, pattern.Fault{Rule: "length", Detail: fmt.Sprintf("%s is no length: %s", pattern.Quote(s), why), Valid: lengthRule, Remedy: lengthRemedy}
	}
	const longest = 40
	if len(s) > longest {
		return fail(fmt.Sprintf("it is longer than %d bytes", longest))
	}
	t := strings.Trim(s, " ")
	number := strings.TrimRight(t, "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ\"'″′")
	unit := t[len(number):]
	factor, ok := perMM(unit)
	if !ok {
		if unit == "" {
			return fail("it has no unit")
		}
		return fail(fmt.Sprintf("%s is not one of the units mm, cm, in", pattern.Quote(unit)))
	}
	number = strings.TrimRight(number, " ")
	sign := 1.0
	switch {
	case strings.HasPrefix(number, "-"):
		sign, number = -1, number[1:]
	case strings.HasPrefix(number, "+"):
		number = number[1:]
	}
	if number == "" {
		return fail("it has no number")
	}
	if d, ok := decimal(number); ok {
		return finish(sign, d, 1, factor, fail)
	}
	whole := 0.0
	rest := number
	if w, r, found := strings.Cut(number, " "); found {
		d, ok := integer(w)
		if !ok {
			return fail("only a whole number may stand before a fraction")
		}
		whole, rest = d, strings.TrimLeft(r, " ")
	} else if last, n := utf8.DecodeLastRuneInString(number); len(number) > n {
		if _, _, ok := vulgar(last); ok {
			d, ok := integer(number[:len(number)-n])
			if !ok {
				return fail("only a whole number may stand before a fraction")
			}
			whole, rest = d, number[len(number)-n:]
		}
	}
	top, bottom, ok := fraction(rest)
	if !ok {
		return fail("its number cannot be read")
	}
	if bottom == 0 {
		return fail("a fraction of nothing")
	}
	if bottom > 1000 {
		return fail("a fraction finer than 1/1000")
	}
	return finish(sign, whole*bottom+top, bottom, factor, fail)
}

func finish(sign, top, bottom, factor float64, fail func(string) (float64, error)) (float64, error) {
	mm := sign * (top * factor / bottom)
	if math.Abs(mm) > pattern.MaxPlaceLength {
		return fail("it is longer than 20 m")
	}
	if mm == 0 && sign < 0 {
		return fail("it is minus zero")
	}
	return mm, nil
}

// decimal reads 12, 12.5 or .5, and nothing with an exponent.
func decimal(s string) (float64, bool) {
	a, b, dot := strings.Cut(s, ".")
	if a+b == "" || !allDigits(a) || !allDigits(b) || dot && b == "" {
		return 0, false
	}
	f, err := strconv.ParseFloat(s, 64)
	return f, err == nil
}

func integer(s string) (float64, bool) {
	if s == "" || len(s) > 6 || !allDigits(s) {
		return 0, false
	}
	f, err := strconv.ParseFloat(s, 64)
	return f, err == nil
}

func allDigits(s string) bool {
	for i := range len(s) {
		if s[i] < '0' || s[i] > '9' {
			return false
		}
	}
	return true
}

// fraction reads 5/8, 5⁄8 (U+2044) or one Unicode fraction.
func fraction(s string) (top, bottom float64, ok bool) {
	if r, n := utf8.DecodeRuneInString(s); n == len(s) {
		if t, b, ok := vulgar(r); ok {
			return t, b, true
		}
	}
	a, b, found := strings.Cut(strings.ReplaceAll(s, "⁄", "/"), "/")
	if !found {
		return 0, 0, false
	}
	top, ok1 := integer(a)
	bottom, ok2 := integer(b)
	return top, bottom, ok1 && ok2
}

// vulgar knows the fractions of Unicode's Latin-1 and Number Forms blocks that have both parts.
func vulgar(r rune) (top, bottom float64, ok bool) {
	switch r {
	case '½':
		return 1, 2, true
	case '⅓':
		return 1, 3, true
	case '⅔':
		return 2, 3, true
	case '¼':
		return 1, 4, true
	case '¾':
		return 3, 4, true
	case '⅕':
		return 1, 5, true
	case '⅖':
		return 2, 5, true
	case '⅗':
		return 3, 5, true
	case '⅘':
		return 4, 5, true
	case '⅙':
		return 1, 6, true
	case '⅚':
		return 5, 6, true
	case '⅐':
		return 1, 7, true
	case '⅛':
		return 1, 8, true
	case '⅜':
		return 3, 8, true
	case '⅝':
		return 5, 8, true
	case '⅞':
		return 7, 8, true
	case '⅑':
		return 1, 9, true
	case '⅒':
		return 1, 10, true
	}
	return 0, 0, false
}
