package allowance

import (
	"errors"
	"fmt"
	"math"

	"sizerun/internal/geom"
	"sizerun/internal/geom/offset"
	"sizerun/internal/pattern"
)

// fault begins with the edge, or the piece when there is none: what is a predicate.
func (j *job) fault(rule, edge, what, valid, remedy string) pattern.Fault {
	subject := fmt.Sprintf("piece %q", j.p.Name)
	if edge != "" {
		subject = fmt.Sprintf("edge %q of piece %q", edge, j.p.Name)
	}
	return pattern.Fault{Rule: rule, Size: j.size, Piece: j.p.Name, Edge: edge, Detail: subject + " " + what, Valid: valid, Remedy: remedy}
}

func sized(err error, size string) error {
	fs := append(pattern.Faults{}, pattern.FaultsOf(err)...)
	for i := range fs {
		fs[i].Size = size
	}
	if len(fs) == 1 {
		return fs[0]
	}
	return fs.Err()
}

// refuse puts a refusal of the parallel into the maker's words.
func (j *job) refuse(err error) error {
	edge, w := "", 0.0
	var path geom.Path
	var oe *offset.Error
	if errors.As(err, &oe) && oe.Edge >= 0 && oe.Edge < len(j.names) {
		edge, w, path = j.names[oe.Edge], math.Abs(j.edges[oe.Edge].Width), j.edges[oe.Edge].Path
	}
	switch {
	case errors.Is(err, offset.ErrVanished):
		return j.fault("allowance_larger_than_piece", edge, "leaves nothing: the allowance is larger than the piece", "", "use a smaller allowance")
	case errors.Is(err, offset.ErrFallsApart):
		return j.fault("allowance_splits_piece", edge, "falls apart into several pieces within its allowance", "", "use a smaller allowance, or widen the piece where it is narrow")
	case errors.Is(err, offset.ErrHole):
		return j.fault("allowances_meet", edge, "has a gap that its allowances close: they meet across it and cannot both be cut", "", "use smaller allowances on the edges around the gap, or widen it")
	case errors.Is(err, offset.ErrTight):
		return j.tight(edge, j.widthOf(oe.Edge), path)
	case errors.Is(err, offset.ErrAmbiguous):
		return j.fault("outline_touches", edge, "has an outline or allowances that run along each other without crossing, so that inside and outside cannot be told apart", "", "move the edges apart, or change an allowance a little")
	case errors.Is(err, offset.ErrCusp):
		return j.fault("cusp", edge, "turns back on itself in a sharp point, where no allowance can follow", "", "redraw the edge smooth, or put a corner between two edges there")
	case errors.Is(err, offset.ErrPrecision):
		return j.fault("too_intricate", edge, fmt.Sprintf("bends too wildly for a parallel at %s mm", mm(w)), "", "redraw the edge with fewer, longer curves")
	}
	return j.fault("outline", edge, "has an outline around which no cut line can be drawn: "+err.Error(), "", "mend the outline first")
}

func (j *job) widthOf(i int) float64 {
	if i < 0 || i >= len(j.edges) {
		return 0
	}
	return j.edges[i].Width
}

func (j *job) tight(edge string, w float64, path geom.Path) pattern.Fault {
	r := hollow(path, w)
	w = math.Abs(w)
	return j.fault("tight_curve", edge, fmt.Sprintf("bends with a radius of %s mm, less than its allowance of %s mm", mm(r), mm(w)),
		"0 to "+mm(math.Floor(10*r)/10)+" mm", "use a smaller allowance there, or a facing or bias binding, or redraw the curve wider")
}

// hollow is the smallest radius with its centre on the side on which the allowance lies (outside when w is
// positive): there the parallel grows shorter.
func hollow(p geom.Path, w float64) float64 {
	k := 0.0
	for _, s := range p {
		if s.Straight {
			continue
		}
		for i := 0; i <= 128; i++ {
			k = max(k, math.Copysign(1, -w)*s.Curvature(float64(i)/128))
		}
	}
	if k < 1e-9 {
		return 1e9
	}
	return 1 / k
}

// judge looks at a cut line that closes and asks whether every edge got its allowance.
func (j *job) judge(res *offset.Result) error {
	for i, asked := range j.asked {
		if want := j.joints[i].Corner; asked && want != offset.Mitre && res.Made[i] != want {
			return j.fault("corner_not_made", j.names[i], fmt.Sprintf("meets %q at %q at an angle at which a %s corner cannot be made", j.names[(i+1)%len(j.names)], j.after[i], want),
				"", "mitre this corner, or use a smaller allowance")
		}
		if j.darts[i] != "" && res.Made[i] != offset.Roof {
			return j.fault("dart_roof", j.names[i], fmt.Sprintf("meets dart %q so that its mouth cannot be trued", j.darts[i]), "", "check the dart's point and legs, or use a smaller allowance")
		}
	}
	if f, bad := j.roofs(res); bad {
		return f
	}
	// Every edge in turn, once, without a gap: else the allowance of another one lies over it.
	seen := make([]int, len(j.names))
	last := -1
	lost := make([]float64, len(j.names))
	for k, src := range res.Sources {
		if src.Edge < 0 {
			continue
		}
		if src.Edge != last {
			seen[src.Edge]++
			last = src.Edge
		} else if prev := res.Sources[k-1]; prev.Edge == src.Edge {
			lost[src.Edge] = max(lost[src.Edge], src.S0-prev.S1)
		}
	}
	for i, n := range seen {
		w := j.edges[i].Width
		switch {
		case n == 0:
			return j.fault("edge_vanishes", j.names[i], fmt.Sprintf("is %s mm long and gets lost between the allowances of its neighbours (%s and %s mm)", mm(j.edges[i].Path.Length()),
				mm(j.edges[(i+len(seen)-1)%len(seen)].Width), mm(j.edges[(i+1)%len(seen)].Width)), "", "use smaller allowances beside it, or make it part of its neighbour")
		case n > 1:
			return j.fault("allowances_meet", j.names[i], fmt.Sprintf("has no room for its allowance of %s mm: another edge's allowance lies across it", mm(w)), "", "use smaller allowances there, or widen the gap")
		case lost[i] > max(math.Abs(w), 1), lost[i] > hemTurn && j.allow[j.names[i]].Turned > 0:
			return j.tight(j.names[i], w, j.edges[i].Path)
		}
	}
	// In the order of the outline: a break in it means that two strips run into each other.
	order := make([]int, 0, len(seen))
	for _, src := range res.Sources {
		if src.Edge >= 0 && (len(order) == 0 || order[len(order)-1] != src.Edge) {
			order = append(order, src.Edge)
		}
	}
	for k, e := range order {
		if e != k && k < len(seen) {
			return j.fault("allowances_meet", j.names[e], "has an allowance that runs into another edge's", "", "use smaller allowances there")
		}
	}
	return nil
}

// roofs looks whether the seams beside a dart's mouth stay under its roof: a seam that bulges over the mouth does not.
func (j *job) roofs(res *offset.Result) (pattern.Fault, bool) {
	for i, dart := range j.darts {
		if dart == "" {
			continue
		}
		var roof geom.Path
		for k, src := range res.Sources {
			if src.Corner == i {
				roof = append(roof, res.Path[k])
			}
		}
		next := (i + 1) % len(j.edges)
		for _, e := range []int{i, next} {
			if j.edges[e].Width > 0 && len(geom.Intersect(roof, j.edges[e].Path, 1e-6)) > 0 {
				return j.fault("dart_roof", j.names[e], fmt.Sprintf("bulges over the mouth of dart %q", dart), "", "draw the seam away from the dart's mouth on both sides"), true
			}
		}
	}
	return pattern.Fault{}, false
}
