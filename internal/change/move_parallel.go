package change

import (
	"math"

	"sizerun/internal/geom"
	"sizerun/internal/geom/offset"
)

// parallelIn is the true parallel of a line at a distance to its left, which is inside on an outline. The line may
// have corners: where the parallels of two stretches cross they end there, where they part they are run
// straight on until they meet.
func parallelIn(line geom.Path, by float64) (geom.Path, error) {
	const (
		tol    = 0.005
		smooth = 0.5   // degrees
		sharp  = 150.0 // degrees: past it a run-on corner would stand out nearly four widths
	)
	var stretches []geom.Path
	var turns []float64 // before each stretch, to the left
	for i, s := range line {
		turn := 0.0
		if i > 0 {
			turn = line[i-1].Tangent(1).AngleTo(s.Tangent(0)) * 180 / math.Pi
		}
		if i == 0 || math.Abs(turn) > smooth {
			stretches, turns = append(stretches, nil), append(turns, turn)
		}
		k := len(stretches) - 1
		stretches[k] = append(stretches[k], s)
	}
	all := make([]geom.Path, len(stretches))
	for i, st := range stretches {
		q, err := offset.Curve(st, -by, tol)
		if err != nil {
			return nil, err
		}
		all[i] = q
	}
	crosses := func(a, b geom.Path) bool { return len(geom.Intersect(a, b, 1e-6)) > 0 }
	var out []geom.Path
	for i, st := range stretches {
		q := all[i]
		switch {
		case len(out) == 0 && i == 0:
		case turns[i] > 0:
			if i+1 < len(all) && len(out) > 0 && !crosses(out[len(out)-1], q) && crosses(out[len(out)-1], all[i+1]) {
				turns[i+1] = turns[i]
				continue // this stretch lies wholly in the corner
			}
			met := false
			for len(out) > 0 && !met {
				last := out[len(out)-1]
				if x := geom.Intersect(last, q, 1e-6); len(x) > 0 {
					out[len(out)-1], _ = last.Split(x[0].S)
					_, q = q.Split(x[0].T)
					met = true
				} else {
					out = out[:len(out)-1] // the one before does
				}
			}
			if !met {
				return nil, &offset.Error{Kind: offset.ErrVanished, Edge: 0, At: st.Start()}
			}
		default:
			if -turns[i] > sharp || len(out) == 0 {
				return nil, &offset.Error{Kind: offset.ErrTight, Edge: 0, At: st.Start()}
			}
			run := by * math.Tan(-turns[i]*math.Pi/360)
			out[len(out)-1] = runOut(out[len(out)-1], 0, run)
			q = runOut(q, run, 0)
		}
		out = append(out, q)
	}
	var p geom.Path
	for _, q := range out {
		if len(p) > 0 && len(q) > 0 {
			q = closeTo(q, p.End(), q.End())
		}
		p = append(p, q...)
	}
	if len(p) == 0 {
		return nil, &offset.Error{Kind: offset.ErrVanished, Edge: 0, At: line.Start()}
	}
	return p, nil
}
