package allowance

import (
	"fmt"
	"math"

	"sizerun/internal/geom"
	"sizerun/internal/geom/offset"
	"sizerun/internal/pattern"
)

// hemTurn is the least allowance lost to a tight bend, mm, at which a turned hem counts as impossible.
const hemTurn = 0.1

// Make draws the cut line of a piece in one size. What cannot be made is refused: which edge, why,
// and what would do instead.
func Make(size string, p *pattern.Piece, a pattern.Allowances) (Piece, error) {
	allow, err := Resolve(a, p)
	if err != nil {
		return Piece{}, sized(err, size)
	}
	job := job{size: size, p: p, allow: allow, limit: a.Limit}
	if job.limit == 0 {
		job.limit = offset.DefaultLimit
	}
	if f, bad := job.outline(); bad {
		return Piece{}, f
	}
	if err := job.plan(); err != nil {
		return Piece{}, err
	}
	res, err := offset.Loop(job.edges, job.joints, offset.DefaultTol)
	if err != nil {
		return Piece{}, job.refuse(err)
	}
	if err := job.judge(&res); err != nil {
		return Piece{}, err
	}
	out := Piece{Name: p.Name, Cut: res.Path, Widths: make(map[string]float64, len(p.Edges)), Allow: allow, Residues: map[string]float64{}}
	for _, e := range p.Edges {
		out.Widths[e.Name] = allow[e.Name].Width
	}
	job.provenance(&res, &out)
	if err := job.marks(&out); err != nil {
		return Piece{}, err
	}
	return out, nil
}

// job is a piece on the way to its cut line. Edges of the piece and edges of the cut line differ by the legs of darts, which
// are not cut along.
type job struct {
	size   string
	p      *pattern.Piece
	allow  map[string]pattern.Allowance
	limit  float64
	edges  []offset.Edge
	joints []offset.Joint
	names  []string // edge name by cut edge
	after  []string // name of the corner at the end of each cut edge
	darts  []string // dart over that corner, ""
	asked  []bool   // the corner was asked for by name
}

// outline refuses what no parallel can be drawn around: a parallel of a crossed line looks plausible and is wrong.
func (j *job) outline() (pattern.Fault, bool) {
	n := 0
	for i, e := range j.p.Edges {
		n += len(e.Path)
		if len(e.Path) == 0 {
			return j.fault("outline", e.Name, "has no length", "", "remove the edge or move its ends apart"), true
		}
		next := j.p.Edges[(i+1)%len(j.p.Edges)]
		if len(next.Path) > 0 && !(e.Path.End().Dist(next.Path.Start()) <= 1e-3) {
			return j.fault("outline", e.Name, "does not end where "+next.Name+" begins", "", "close the outline"), true
		}
	}
	if n == 0 {
		return j.fault("outline", "", "has no edges", "", "draw a closed outline"), true
	}
	if n > 20*pattern.MaxSegs {
		return j.fault("outline", "", fmt.Sprintf("is made of %d curves", n), fmt.Sprintf("up to %d", 20*pattern.MaxSegs), "draw it with fewer points"), true
	}
	for _, e := range j.p.Edges {
		for _, s := range e.Path {
			for _, q := range []geom.Point{s.P0, s.P1, s.P2, s.P3} {
				if !q.Finite() || math.Abs(q.X) > pattern.MaxCoord || math.Abs(q.Y) > pattern.MaxCoord {
					return j.fault("outline", e.Name, "leaves the range of coordinates", fmt.Sprintf("-%g to %g mm", pattern.MaxCoord, pattern.MaxCoord), "move the piece nearer to the origin"), true
				}
			}
		}
	}
	o := j.p.Outline()
	if a := o.Area(); !(a > 1) {
		return j.fault("outline", "", "runs clockwise or encloses nothing", "", "draw the outline counter-clockwise"), true
	}
	if c := o.SelfCrossings(true, 1e-6); len(c) > 0 {
		return j.fault("self_crossing", "", fmt.Sprintf("has an outline that crosses itself near (%.1f, %.1f)", c[0].P.X, c[0].P.Y), "", "mend the outline first"), true
	}
	return pattern.Fault{}, false
}

// plan lists the edges of the cut line and chooses every corner.
func (j *job) plan() error {
	es := j.p.Edges
	tips := map[string]int{} // first leg → index of its dart
	for k, d := range j.p.Darts {
		i := j.p.EdgeNamed(d.First)
		if i < 0 || es[(i+1)%len(es)].Name != d.Second || d.First == d.Second {
			return j.fault("dart_legs", d.First, fmt.Sprintf("and %q are not the two neighbouring legs of dart %q, in the order of the outline", d.Second, d.Name), "", "name both legs, first the one that leads to the dart point")
		}
		if d.Towards != d.First && d.Towards != d.Second {
			return j.fault("dart_towards", d.First, fmt.Sprintf("belongs to dart %q, which is pressed towards %s", d.Name, pattern.Quote(d.Towards)), d.First+", "+d.Second, "name the leg to whose side it is pressed")
		}
		for _, leg := range []*pattern.Edge{&es[i], &es[(i+1)%len(es)]} {
			// The mouth is the widest place: a leg that swings out beyond it leaves the piece through its roof.
			mouth, tip := leg.Path.Start(), es[i].Path.End()
			if leg.Name == d.Second {
				mouth = leg.Path.End()
			}
			for _, q := range leg.Path.Spread(16) {
				if q.Dist(tip) > mouth.Dist(tip)+pattern.Near {
					return j.fault("dart_legs", leg.Name, fmt.Sprintf("is a leg of dart %q and swings out beyond its mouth", d.Name), "", "draw the leg straighter")
				}
			}
		}
		tips[d.First] = k
	}
	first := -1
	for i := range es {
		if !j.p.IsLeg(es[i].Name) {
			first = i
			break
		}
	}
	if first < 0 {
		return j.fault("dart_legs", "", "has nothing but legs of darts", "", "draw the edges that the darts take in")
	}
	for k := range es {
		e := &es[(first+k)%len(es)]
		if j.p.IsLeg(e.Name) {
			continue
		}
		next := &es[(first+k+1)%len(es)]
		j.edges = append(j.edges, offset.Edge{Path: e.Path, Width: j.allow[e.Name].Width})
		j.names = append(j.names, e.Name)
		j.after = append(j.after, e.To)
		joint, dart, asked := offset.Joint{Limit: j.limit}, "", false
		if d, ok := tips[next.Name]; ok {
			dt := &j.p.Darts[d]
			second := &es[(first+k+2)%len(es)]
			if follows := es[(first+k+3)%len(es)]; j.p.IsLeg(follows.Name) {
				return j.fault("dart_legs", second.Name, "is followed by the leg of another dart", "", "keep a stretch of seam between two darts")
			}
			joint.Corner, joint.Tip, joint.After = offset.Roof, next.Path.End(), dt.Towards == dt.Second
			dart = dt.Name
		} else {
			joint, asked = j.corner(e.Name, next.Name)
		}
		j.joints, j.darts, j.asked = append(j.joints, joint), append(j.darts, dart), append(j.asked, asked)
	}
	return nil
}

// corner chooses how two edges meet. What the style or a change asks for goes first, the hem's wish before its
// neighbour's. Unasked, a hem returns where it adjoins an edge that is none; everything else is mitred.
func (j *job) corner(before, after string) (offset.Joint, bool) {
	a, b := j.allow[before], j.allow[after]
	joint := offset.Joint{Limit: j.limit}
	hemA, hemB := a.Turned > 0, b.Turned > 0
	wish, byAfter := a.End, false
	if wish == "" || hemB && !hemA && b.Start != "" {
		if b.Start != "" {
			wish, byAfter = b.Start, true
		}
	}
	asked := wish != ""
	if !asked && hemA != hemB {
		wish = pattern.HemReturn
	}
	switch wish {
	case pattern.SquareEnd:
		// The edge that asks is sewn first: its strip ends square to it.
		joint.Corner, joint.After = offset.Square, byAfter
	case pattern.HemReturn:
		joint.Corner, joint.After = offset.Return, byAfter
		if hemA != hemB {
			joint.After = hemB
		}
		joint.Turns = a.Turned
		if joint.After {
			joint.Turns = b.Turned
		}
	}
	return joint, asked
}

// provenance says which stretch of the cut line belongs to what, and which corners were made.
func (j *job) provenance(res *offset.Result, out *Piece) {
	s := 0.0
	for i, g := range res.Path {
		l := g.Length()
		st := Stretch{S0: s, S1: s + l}
		if src := res.Sources[i]; src.Edge >= 0 {
			st.Edge = j.names[src.Edge]
		} else {
			st.Corner, st.Dart = j.after[src.Corner], j.darts[src.Corner]
		}
		s += l
		if k := len(out.Stretches) - 1; k >= 0 {
			if last := &out.Stretches[k]; last.Edge == st.Edge && last.Corner == st.Corner {
				last.S1 = s
				continue
			}
		}
		out.Stretches = append(out.Stretches, st)
	}
	for i, made := range res.Made {
		a, b := out.Allow[j.names[i]], out.Allow[j.names[(i+1)%len(j.names)]]
		c := pattern.Mitre
		switch made {
		case offset.Square:
			c = pattern.SquareEnd
		case offset.Return:
			c = pattern.HemReturn
		}
		if j.darts[i] == "" {
			a.End = c
			out.Allow[j.names[i]] = a
			b = out.Allow[j.names[(i+1)%len(j.names)]]
			b.Start = c
			out.Allow[j.names[(i+1)%len(j.names)]] = b
		}
		if res.Residue[i] > 0 {
			out.Residues[j.after[i]] = res.Residue[i]
		}
	}
}
