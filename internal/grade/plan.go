package grade

import (
	"math"
	"sort"

	"sizerun/internal/geom"
	"sizerun/internal/pattern"
)

// node is a place of the outline that moves by itself.
type node struct {
	at   geom.Point
	rule int // index into plan.rules, -1: follows
	// A follower lies at share w of the way from the node before (index a) to the one after (b).
	a, b int
	w    float64
	turn turn
}

// plan is what of a piece does not depend on the size.
type plan struct {
	p     *pattern.BlockPiece
	nodes []node
	segs  []geom.Seg // segs[i] leads from nodes[i] to nodes[i+1], round the outline
	ends  []int      // ends[e] is the number of segs up to and including edge e
	rules []rule
	named map[string]int // rule of a named point or mark
	field field
}

// rule gives a displacement in one growth.
type rule struct {
	x, y  []term
	steps []geom.Vec
}

type term struct {
	measure string
	share   float64
}

func (r *rule) move(g growth) geom.Vec {
	if r.steps != nil {
		if g.size < 0 {
			return geom.Vec{}
		}
		return r.steps[g.size]
	}
	var v geom.Vec
	for _, t := range r.x {
		v.X += t.share * g.body[t.measure]
	}
	for _, t := range r.y {
		v.Y += t.share * g.body[t.measure]
	}
	return v
}

// growth is how much a body differs from the base size's: per measurement, mm. size is its index
// in the run, -1 for a customer's body.
type growth struct {
	size int
	body map[string]float64
}

func terms(m map[string]float64) []term {
	out := make([]term, 0, len(m))
	for k, s := range m {
		out = append(out, term{k, s})
	}
	sort.Slice(out, func(i, j int) bool { return out[i].measure < out[j].measure })
	return out
}

// newPlan prepares a piece whose base size is drawn by edges.
func newPlan(p *pattern.BlockPiece, edges []pattern.Edge) *plan {
	pl := &plan{p: p, named: map[string]int{}}
	for _, name := range ruleNames(p) {
		pl.named[name] = len(pl.rules)
		if s, ok := p.Steps[name]; ok {
			pl.rules = append(pl.rules, rule{steps: s})
			continue
		}
		r := p.Rules[name]
		pl.rules = append(pl.rules, rule{x: terms(r.X), y: terms(r.Y)})
	}
	for i := range edges {
		for k, s := range pl.cutAtRules(edges[i].Path) {
			n := node{at: s.P0, rule: -1}
			if k == 0 {
				if r, ok := pl.named[edges[i].From]; ok {
					n.rule = r
				}
			} else {
				n.rule = pl.ruleAt(s.P0)
			}
			pl.nodes = append(pl.nodes, n)
			pl.segs = append(pl.segs, s)
		}
		pl.ends = append(pl.ends, len(pl.segs))
	}
	pl.follow()
	for i := range pl.nodes {
		pl.nodes[i].turn = turnOf(pl.segs[(i+len(pl.segs)-1)%len(pl.segs)], pl.segs[i])
	}
	corners := make([]geom.Point, 0, len(edges))
	for i := range edges {
		corners = append(corners, edges[i].Path.Start())
	}
	pl.field = field{corners}
	return pl
}

func ruleNames(p *pattern.BlockPiece) []string {
	var out []string
	for k := range p.Rules {
		out = append(out, k)
	}
	for k := range p.Steps {
		out = append(out, k)
	}
	sort.Strings(out)
	return out
}

// ruleAt is the rule of the named point that lies at q, -1 when there is none.
func (pl *plan) ruleAt(q geom.Point) int {
	for _, n := range pl.p.Points {
		if r, ok := pl.named[n.Name]; ok && n.At.Dist(q) <= pattern.Near {
			return r
		}
	}
	return -1
}

// cutAtRules cuts an edge where a named point with a rule lies on it between its knots.
func (pl *plan) cutAtRules(path geom.Path) geom.Path {
	for _, n := range pl.p.Points {
		if _, ok := pl.named[n.Name]; !ok || !path.Bounds().Inset(-pattern.Near).Contains(n.At) {
			continue
		}
		s, d := path.Project(n.At)
		if d > pattern.Near || s <= pattern.MinEdge || s >= path.Length()-pattern.MinEdge || nearKnot(path, n.At) {
			continue
		}
		a, b := path.Split(s)
		path = a.Join(b)
	}
	return path
}

func nearKnot(path geom.Path, q geom.Point) bool {
	for i := 1; i < len(path); i++ {
		if path[i].P0.Dist(q) <= pattern.Near {
			return true
		}
	}
	return false
}

// follow finds for every node without a rule the ruled ones on both sides of it.
func (pl *plan) follow() {
	n := len(pl.nodes)
	first := -1
	for i := range pl.nodes {
		if pl.nodes[i].rule >= 0 {
			first = i
			break
		}
	}
	if first < 0 {
		return
	}
	for from := first; from < first+n; {
		to := from + 1
		way := []float64{0}
		for {
			way = append(way, way[len(way)-1]+pl.segs[(to-1)%n].Length())
			if pl.nodes[to%n].rule >= 0 {
				break
			}
			to++
		}
		for k := from + 1; k < to; k++ {
			m := &pl.nodes[k%n]
			m.a, m.b, m.w = from%n, to%n, way[k-from]/way[to-from]
		}
		from = to
	}
}

// moves gives the displacement of every node.
func (pl *plan) moves(g growth) []geom.Vec {
	out := make([]geom.Vec, len(pl.nodes))
	for i := range pl.nodes {
		if r := pl.nodes[i].rule; r >= 0 {
			out[i] = pl.rules[r].move(g)
		}
	}
	for i := range pl.nodes {
		if n := &pl.nodes[i]; n.rule < 0 {
			out[i] = out[n.a].Mul(1 - n.w).Add(out[n.b].Mul(n.w))
		}
	}
	return out
}

// redraw draws the edges in one size.
func (pl *plan) redraw(d []geom.Vec) []geom.Path {
	n := len(pl.segs)
	ends := make([]geom.Point, n)
	for i := range ends {
		ends[i] = pl.nodes[i].at.Add(d[i])
	}
	grown := make([]geom.Seg, n)
	for i, s := range pl.segs {
		grown[i] = grow(s, ends[i], ends[(i+1)%n])
	}
	for i := range pl.nodes {
		in, out := (i+n-1)%n, i
		a := pl.nodes[i].turn.angle(pl.segs[in], pl.segs[out], grown[in], grown[out])
		if !grown[in].Straight {
			grown[in].P2 = grown[in].P3.Add(handle(pl.segs[in].P2.Sub(pl.segs[in].P3), grown[in].P2.Sub(grown[in].P3), a))
		}
		if !grown[out].Straight {
			grown[out].P1 = grown[out].P0.Add(handle(pl.segs[out].P1.Sub(pl.segs[out].P0), grown[out].P1.Sub(grown[out].P0), a))
		}
	}
	paths := make([]geom.Path, len(pl.ends))
	start := 0
	for e, end := range pl.ends {
		paths[e] = grown[start:end:end]
		start = end
	}
	return paths
}

// handle is the handle that was in the base size, grown as far as growth went its own way, and
// turned by a. Its length is linear in the growth.
func handle(was, grown geom.Vec, a float64) geom.Vec {
	l := was.Dot(was)
	if l == 0 {
		return geom.Vec{}
	}
	if grown != was {
		was = was.Mul(math.Max(least, grown.Dot(was)/l))
	}
	if a != 0 {
		was = was.Rotate(a)
	}
	return was
}

// grow takes a Seg to new ends, its handles growing with the box that they span.
func grow(s geom.Seg, p0, p3 geom.Point) geom.Seg {
	if s.Straight {
		return geom.Line(p0, p3)
	}
	if p3.Sub(p0) == s.P3.Sub(s.P0) {
		return geom.Cubic(p0, p0.Add(s.P1.Sub(s.P0)), p3.Add(s.P2.Sub(s.P3)), p3)
	}
	kx, ky := growthOf(s.P3.Sub(s.P0), p3.Sub(p0))
	stretch := func(v geom.Vec) geom.Vec { return geom.Vec{X: v.X * kx, Y: v.Y * ky} }
	return geom.Cubic(p0, p0.Add(stretch(s.P1.Sub(s.P0))), p3.Add(stretch(s.P2.Sub(s.P3))), p3)
}

// thin is the share of a chord's length below which its extent along one axis says little about
// growth along that axis: a nearly upright armhole whose ends move 3 mm apart sideways must not
// have its hollow tripled. There the growth of the whole chord is mixed in.
const thin = 0.25

// growthOf tells by how much a box grows along each axis, given its diagonal before and after.
// A similarity grows both alike, whichever way the diagonal lies.
func growthOf(c, d geom.Vec) (kx, ky float64) {
	l := c.Len()
	if l == 0 {
		return 1, 1
	}
	whole := math.Max(least, d.Dot(c)/(l*l))
	axis := func(c, d float64) float64 {
		r := math.Abs(c) / (thin * l)
		if r >= 1 {
			return math.Max(least, d/c)
		}
		return math.Max(least, c*d/(thin*l*thin*l)+(1-r*r)*whole)
	}
	return axis(c.X, d.X), axis(c.Y, d.Y)
}

// least keeps a handle from vanishing or turning over in a size that shrinks very much.
const least = 0.05
