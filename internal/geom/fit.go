package geom

import "math"

// Fit turns a dense polyline into few cubics within tol of its points, corners kept.
func Fit(pts []Point, tol float64) (Path, error) {
	pts, err := distinct(pts)
	if err != nil {
		return nil, err
	}
	var out Path
	for i := 0; i < len(pts)-1; {
		j := i + 1
		for j < len(pts)-1 && math.Abs(pts[j].Sub(pts[j-1]).AngleTo(pts[j+1].Sub(pts[j]))) < 0.5 {
			j++
		}
		part := pts[i : j+1]
		q, err := FitSmooth(part, part[1].Sub(part[0]), part[len(part)-1].Sub(part[len(part)-2]), tol)
		if err != nil {
			return nil, err
		}
		out = append(out, q...)
		i = j
	}
	return out, nil
}

// FitSmooth fits cubics without a corner, leaving along t0 and arriving along t1.
func FitSmooth(pts []Point, t0, t1 Vec, tol float64) (Path, error) {
	pts, err := distinct(pts)
	if err != nil {
		return nil, err
	}
	a, b := t0.Unit(), t1.Unit()
	p, q := pts[0], pts[len(pts)-1]
	arm := Polyline(pts...).Length() / 3
	c := Path{Cubic(p, p.Add(a.Mul(arm)), q.Add(b.Mul(-arm)), q)}
	if len(pts) == 2 {
		return Path{Line(p, q)}, nil
	}
	worst := 0.0
	for _, x := range pts {
		_, d := c.Project(x)
		worst = math.Max(worst, d)
	}
	if worst <= tol {
		return c, nil
	}
	m := len(pts) / 2
	t := pts[m+1].Sub(pts[m-1])
	l, err := FitSmooth(pts[:m+1], t0, t, tol)
	if err != nil {
		return nil, err
	}
	r, err := FitSmooth(pts[m:], t, t1, tol)
	return l.Join(r), err
}
