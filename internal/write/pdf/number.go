package pdf

import (
	"math"
	"strconv"
)

// decimals is how finely a coordinate is written: 1e-5 mm. The writer's whole arithmetic is this one
// rounding, so the digits do not depend on how a processor fuses multiplications.
const decimals = 1e5

// appendNum writes v with up to five decimals, no exponent, no superfluous zeros. check has refused
// what is not finite or too large long before.
func appendNum(b []byte, v float64) []byte {
	n := int64(math.RoundToEven(v * decimals))
	if n < 0 {
		b = append(b, '-')
		n = -n
	}
	whole, part := n/decimals, n%decimals
	b = appendInt(b, whole)
	if part == 0 {
		return b
	}
	hi, lo := part/1000, part%1000 // two digits and three
	d := [6]byte{'.', byte('0' + hi/10), byte('0' + hi%10), byte('0' + lo/100), byte('0' + lo/10%10), byte('0' + lo%10)}
	end := 6
	for d[end-1] == '0' {
		end--
	}
	return append(b, d[:end]...)
}

func appendInt(b []byte, n int64) []byte {
	switch {
	case n < 0:
		return appendInt(append(b, '-'), -n)
	case n < 10:
		return append(b, byte('0'+n))
	case n < 100:
		return append(b, byte('0'+n/10), byte('0'+n%10))
	case n < 1000:
		return append(b, byte('0'+n/100), byte('0'+n/10%10), byte('0'+n%10))
	}
	return strconv.AppendInt(b, n, 10)
}

// appendNums writes each number followed by a space.
func appendNums(b []byte, vs ...float64) []byte {
	for _, v := range vs {
		b = append(appendNum(b, v), ' ')
	}
	return b
}
