package pdf

import "math"

// decimals is how finely a coordinate is written: 1e-5 mm. The writer's whole arithmetic is this one
// rounding, so the digits do not depend on how a processor fuses multiplications.
const decimals = 1e5

// appendNum writes v with up to five decimals, no exponent, no superfluous zeros. check has refused
// what is not finite or too large long before.
func appendNum(b []byte, v float64) []byte {
	n := int64(math.Round(v * decimals))
	if n < 0 {
		b = append(b, '-')
		n = -n
	}
	whole, part := n/decimals, n%decimals
	b = appendInt(b, whole)
	if part == 0 {
		return b
	}
	d := [6]byte{'.'}
	for i := 5; i > 0; i-- {
		d[i] = byte('0' + part%10)
		part /= 10
	}
	end := 6
	for d[end-1] == '0' {
		end--
	}
	return append(b, d[:end]...)
}

func appendInt(b []byte, n int64) []byte {
	if n < 0 {
		b = append(b, '-')
		n = -n
	}
	var d [20]byte
	i := len(d)
	for {
		i--
		d[i] = byte('0' + n%10)
		n /= 10
		if n == 0 {
			return append(b, d[i:]...)
		}
	}
}

// appendNums writes each number followed by a space.
func appendNums(b []byte, vs ...float64) []byte {
	for _, v := range vs {
		b = append(appendNum(b, v), ' ')
	}
	return b
}
