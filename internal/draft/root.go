package draft

import "math"

// root finds the zero of f between lo and hi, where f has opposite signs, to within tol in x: regula
// falsi with the stale end's value halved (the Illinois rule, M. Dowell and P. Jarratt, BIT 11, 1971),
// which never leaves the bracket. ok is false when f does not change its sign there, or changes it by a jump:
// f is a difference of lengths in mm, and a zero is one to within exact.
func root(f func(float64) float64, lo, hi, tol float64) (x float64, ok bool) {
	fl, fh := f(lo), f(hi)
	switch {
	case fl == 0:
		return lo, true
	case fh == 0:
		return hi, true
	case !(fl*fh < 0): // also NaN
		return 0, false
	}
	const most = 100 // a bracket halved as often as a float has bits
	for range most {
		x = hi - fh*(hi-lo)/(fh-fl)
		if !(x > math.Min(lo, hi) && x < math.Max(lo, hi)) {
			x = (lo + hi) / 2
		}
		fx := f(x)
		if fx == 0 || math.Abs(hi-lo) <= tol || math.Abs(x-hi) <= tol/4 {
			return x, math.Abs(fx) <= exact
		}
		if fx*fh < 0 {
			lo, fl = hi, fh
		} else {
			fl /= 2
		}
		hi, fh = x, fx
	}
	return x, math.Abs(fh) <= exact
}

// exact is the most, in mm, that lengths found to be equal differ by.
const exact = 1e-3
