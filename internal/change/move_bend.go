package change

import (
	"math"

	"sizerun/internal/geom"
)

// bendJoint draws two lines on into each other without the corner between them. b is laid to the end of a, and what
// the line turns there is taken from, or given to, the bends within reach on both sides, in proportion to how strongly
// they bend and fading out towards the ends of the reach, so that a bend becomes flatter but no hollow is made of a
// round. Only the direction of the line is changed, as a strip of paper is bent: it keeps its length, to a few
// hundredths of a millimetre. Outside the reach
// a stays where it is, and b keeps its direction and is moved by a little.
func bendJoint(a, b geom.Path, reach float64) (geom.Path, error) {
	const (
		none  = 1e-9 // radians: less is no corner
		parts = 48   // of the bent stretch, whose direction is summed up
		every = 6    // of them the curve goes through
		least = 1e-4 // a share that straight stretches take, too, 1/mm
	)
	turn := a.EndTangent().AngleTo(b.StartTangent())
	b = b.Transform(geom.Translate(a.End().Sub(b.Start())))
	la, lb := a.Length(), b.Length()
	reach = math.Min(reach, math.Min(la, lb))
	if math.Abs(turn) <= none || reach <= 0 {
		return a.Join(b), nil
	}
	step := 2 * reach / parts
	along := func(s float64) geom.Vec { // s from -reach to reach
		if s < 0 {
			return a.TangentAt(la + s)
		}
		return b.TangentAt(s)
	}
	// share is how much of the turn each part takes.
	var share [parts]float64
	var at [parts + 1]geom.Vec
	at[0] = along(-reach)
	sum := 0.0
	way := turning(a.Sub(la-reach, la)) + turning(b.Sub(0, reach))
	for i := range parts {
		s := -reach + float64(i+1)*step
		at[i+1] = along(s)
		from := at[i]
		if i == parts/2 {
			from = b.StartTangent()
		}
		to := at[i+1]
		if i+1 == parts/2 {
			to = a.EndTangent()
			at[i+1] = to
		}
		u := (s - step/2) / reach
		bend := math.Max(0, math.Copysign(1, way)*from.AngleTo(to)) + least*step
		share[i] = bend * (1 - u*u) * (1 - u*u)
		sum += share[i]
	}
	p := a.PointAt(la - reach)
	pts := []geom.Point{p}
	done := 0.0
	for i := range parts {
		s := -reach + (float64(i)+0.5)*step
		here := (done + share[i]/2) / sum
		if s > 0 {
			here--
		}
		// Of an arc the chord lies in the middle direction; it is shorter by a 24th of the square of its bend.
		own := at[i].AngleTo(at[i+1])
		if i == parts/2 {
			own = b.StartTangent().AngleTo(at[i+1])
		}
		own += turn * share[i] / sum
		p = p.Add(along(s).Rotate(turn * here).Mul(step * (1 - own*own/24)))
		done += share[i]
		if (i+1)%every == 0 {
			pts = append(pts, p)
		}
	}
	t0, t1 := at[0], at[parts]
	bent, err := geom.Through(pts, &t0, &t1)
	if err != nil {
		return nil, err
	}
	var out geom.Path
	if la-reach > tiny {
		out = append(out, a.Sub(0, la-reach)...)
	}
	out = append(out, bent...)
	if lb-reach > tiny {
		rest := b.Sub(reach, lb)
		out = append(out, rest.Transform(geom.Translate(p.Sub(rest.Start())))...)
	}
	return out, nil
}

// smoothstep goes from 0 at 0 to 1 at 1 and is level at both.
func smoothstep(u float64) float64 {
	u = math.Max(0, math.Min(1, u))
	return u * u * (3 - 2*u)
}
