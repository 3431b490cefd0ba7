package grade

import (
	"math"

	"sizerun/internal/geom"
)

// turn says what decides by how much the handles at a node are turned.
type turn int

const (
	withIn  turn = iota // with the straight stretch before it
	withOut             // with the straight stretch after it
	stays               // level or upright: not at all
	mean                // with the mean of both curves' growth
)

// level is how far from level or upright a tangent may be and still count so.
const level = 0.5 * math.Pi / 180

func turnOf(in, out geom.Seg) turn {
	switch {
	case in.Straight && out.Straight:
		return stays
	case in.Straight:
		return withIn
	case out.Straight:
		return withOut
	case axial(in.Tangent(1)) || axial(out.Tangent(0)):
		return stays
	}
	return mean
}

func axial(t geom.Vec) bool {
	return math.Min(math.Abs(t.X), math.Abs(t.Y)) <= math.Sin(level)*t.Len()
}

// angle is by how much the handles at the node between in and out are turned.
func (t turn) angle(in, out, newIn, newOut geom.Seg) float64 {
	switch t {
	case withIn:
		return in.Tangent(1).AngleTo(newIn.Tangent(1))
	case withOut:
		return out.Tangent(0).AngleTo(newOut.Tangent(0))
	case mean:
		return (in.Tangent(1).AngleTo(newIn.Tangent(1)) + out.Tangent(0).AngleTo(newOut.Tangent(0))) / 2
	}
	return 0
}
