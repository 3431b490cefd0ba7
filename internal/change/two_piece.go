package change

import (
	"fmt"
	"math"

	"sizerun/internal/geom"
	"sizerun/internal/inspect"
	"sizerun/internal/pattern"
)

// A two-piece sleeve (TRADE 4.2). Folded so that its underarm seams meet below, a sleeve has a front fold and a
// back fold, each a quarter of its width in. The forearm seam lies a little under the front fold; the hindarm seam
// leads from the back of the cap to the hem, behind the back fold. What lies between them over the arm is the upper
// sleeve; the two parts below are joined at the underarm seam, which goes, and are the under sleeve.
//
// Cloth can be taken out of both seams towards the hem, half from either piece; and the hindarm seam can be opened
// at the elbow, so that the sleeve bends forward as an arm does.

type twoPieceArgs struct {
	Piece        string   `arg:"piece" kind:"name" default:"sleeve" says:"The one-piece sleeve."`
	Hem          string   `arg:"hem" kind:"name" default:"hem" says:"Its hem."`
	Crown        string   `arg:"crown" kind:"name" default:"crown" says:"The dot at the crown, between the back and the front of its cap."`
	Forearm      float64  `arg:"forearm" kind:"length" min:"-20" max:"80" default:"25mm" says:"How far under the front fold the forearm seam lies at the biceps line."`
	ForearmHem   *float64 `arg:"forearm_hem" kind:"length" min:"-40" max:"80" says:"The same at the hem; left out, as at the biceps line."`
	Hindarm      float64  `arg:"hindarm" kind:"length" min:"-80" max:"200" default:"20mm" says:"How far above the back notch, along the cap, the hindarm seam begins."`
	HindarmShare *float64 `arg:"hindarm_share" kind:"share" min:"0.1" max:"0.9" says:"Instead: the share of the back cap from the underarm to the crown at which it begins."`
	BackNotch    string   `arg:"back_notch" kind:"name" says:"The notch that is measured from; left out, the double notch of the back cap."`
	HindarmHem   float64  `arg:"hindarm_hem" kind:"length" min:"-40" max:"80" default:"10mm" says:"How far behind the back fold the hindarm seam ends at the hem."`
	ForearmOut   float64  `arg:"forearm_out" kind:"length" min:"0" max:"120" default:"0mm" says:"How much narrower the hem becomes at the forearm seam, half of it from each piece."`
	HindarmOut   float64  `arg:"hindarm_out" kind:"length" min:"0" max:"160" default:"0mm" says:"How much narrower the hem becomes at the hindarm seam, half of it from each piece."`
	Elbow        *float64 `arg:"elbow" kind:"length" min:"60" max:"600" says:"How far below the underarm the elbow lies; left out, 25 mm above the middle of the underarm seam."`
	Bend         float64  `arg:"bend" kind:"length" min:"0" max:"80" default:"0mm" says:"How far the hindarm seam is opened at the elbow, so that the sleeve bends forward."`
	ElbowEase    float64  `arg:"elbow_ease" kind:"length" min:"0" max:"15" default:"0mm" says:"How much longer the upper sleeve is at the hindarm seam, to be eased in over the elbow."`
	Upper        string   `arg:"upper" kind:"name" says:"The name of the upper sleeve; left out, the piece's name with _upper."`
	Under        string   `arg:"under" kind:"name" says:"The name of the under sleeve; left out, the piece's name with _under."`
}

func defineTwoPiece() Definition {
	return Definition{
		Name:     "two_piece",
		Sentence: "Makes a sleeve of two pieces, upper and under sleeve, with a forearm and a hindarm seam, shaped to the hem and bent at the elbow if asked.",
		Promise:  "The cap keeps its length and both seams match, to 0.1 mm; the pieces together are the sleeve where nothing is shaped; every mark goes to its side; notches meet.",
		Sketch: []Stroke{
			{CutAway, geom.Path{geom.Cubic(geom.Pt(96, 62), geom.Pt(80, 64), geom.Pt(72, 96), geom.Pt(50, 96)), geom.Cubic(geom.Pt(50, 96), geom.Pt(28, 96), geom.Pt(20, 64), geom.Pt(4, 62))}},
			{CutAway, geom.Polyline(geom.Pt(4, 62), geom.Pt(12, 6), geom.Pt(88, 6), geom.Pt(96, 62))},
			{New, geom.Path{geom.Cubic(geom.Pt(80, 70), geom.Pt(78, 50), geom.Pt(76, 30), geom.Pt(74, 6))}},
			{New, geom.Path{geom.Cubic(geom.Pt(24, 76), geom.Pt(24, 50), geom.Pt(30, 30), geom.Pt(30, 6))}},
			{Construction, geom.Polyline(geom.Pt(4, 62), geom.Pt(96, 62))},
		},
		fresh: func() args { return new(twoPieceArgs) },
	}
}

func (a *twoPieceArgs) check() pattern.Faults {
	var fs pattern.Faults
	if a.Upper == "" {
		a.Upper = a.Piece + "_upper"
	}
	if a.Under == "" {
		a.Under = a.Piece + "_under"
	}
	for _, n := range [2][2]string{{"/upper", a.Upper}, {"/under", a.Under}} {
		if !pattern.ValidName(n[1]) {
			fs = append(fs, pattern.Fault{Rule: "bad_name", Pointer: n[0], Detail: fmt.Sprintf("two_piece: a piece cannot be named %s", pattern.Quote(n[1])), Valid: pattern.NameRule, Remedy: "give a shorter name"})
		}
	}
	if a.Upper == a.Under {
		fs = append(fs, pattern.Fault{Rule: "given_twice", Pointer: "/under", Detail: "two_piece: both pieces have the same name", Remedy: "name them apart"})
	}
	if a.HindarmShare != nil && a.BackNotch != "" {
		fs = append(fs, pattern.Fault{Rule: "given_twice", Pointer: "/back_notch", Detail: "two_piece: the hindarm seam is told by a share and by a notch", Remedy: "give one of them"})
	}
	if a.Elbow != nil && a.Bend == 0 && a.ElbowEase == 0 {
		fs = append(fs, pattern.Fault{Rule: "given_twice", Pointer: "/elbow", Detail: "two_piece: there is an elbow, but neither a bend nor ease at it", Remedy: "give bend or elbow_ease, or leave elbow out"})
	}
	return fs
}

// twoPiece is a sleeve on its way into two pieces.
type twoPiece struct {
	t                tube
	was              pattern.Piece
	backSide, front  string // the edges of its underarm seam
	left, right      geom.Point
	forearm, hindarm geom.Path // from the cap down to the hem
	atForearm        geom.Point
	foreLevel        float64 // along the seams from the cap to the biceps line
	hindLevel        float64
	elbow            float64      // below the underarm; 0 for none
	foreElbow        float64      // along the seams from the cap to the elbow
	hindElbow        float64      //
	folds            [2]geom.Path // back, front
	cap              float64      // how long it was
	stray            float64      // how far its sides strayed from straight
	redrawn          float64      // mm2 that drawing lines smooth over the underarm adds to the under sleeve
	seams            map[string]float64
}

// shaped is whether anything is made narrower or opened: then the pieces are no longer the sleeve.
func (a *twoPieceArgs) shaped() bool {
	return a.ForearmOut > 0 || a.HindarmOut > 0 || a.Bend > 0 || a.ElbowEase > 0
}

func (a *twoPieceArgs) apply(w *work) error {
	s, err := a.find(w)
	if err != nil {
		return err
	}
	upper, back, front, err := a.cut(w, &s)
	if err != nil {
		return err
	}
	if err := w.replace(a.Piece, upper, back, front); err != nil {
		return blame(err, "/piece")
	}
	under, err := a.join(w, &s, &back, &front)
	if err != nil {
		return err
	}
	if a.Bend > 0 || a.ElbowEase > 0 {
		if err := a.bendAt(&upper, &s, a.Bend+a.ElbowEase, true); err != nil {
			return err
		}
		if err := a.bendAt(&under, &s, a.Bend, false); err != nil {
			return err
		}
	}
	for _, q := range []*pattern.Piece{&upper, &under} {
		for i := range q.Edges {
			if e := &q.Edges[i]; e.Name == "forearm" || e.Name == "hindarm" || e.Name == a.Hem && q == &under {
				e.Src = pattern.Source{Piece: q.Name, Edge: e.Name, S1: e.Path.Length()}
			}
		}
		fitGrain(q)
	}
	under.Align = s.left
	if s.was.Title != "" {
		upper.Title, under.Title = s.was.Title+", upper", s.was.Title+", under"
	}
	seams := a.seams(w, &s, &upper, &under)
	w.put(upper)
	w.put(under)
	w.p.Seams = append(w.p.Seams, seams...)
	a.promises(w, &s)
	a.tell(w, &s)
	return nil
}

// find places both seams on the sleeve.
func (a *twoPieceArgs) find(w *work) (twoPiece, error) {
	var s twoPiece
	t, err := w.tube(a.Piece, a.Hem, nil)
	if err != nil {
		return s, err
	}
	for _, n := range [2][2]string{{"/upper", a.Upper}, {"/under", a.Under}} {
		if w.p.PieceNamed(n[1]) != nil {
			return s, pattern.Fault{Rule: "name_taken", Pointer: n[0], Piece: n[1], Detail: fmt.Sprintf("there is a piece %q already", n[1]), Valid: "not " + pattern.Choices(w.p.PieceNames()), Remedy: "choose another name"}
		}
	}
	if w.sewn(a.Piece, a.Hem) {
		return s, pattern.Fault{Rule: "edge_sewn", Pointer: "/hem", Piece: a.Piece, Edge: a.Hem, Detail: fmt.Sprintf("edge %s.%s is sewn to something", a.Piece, a.Hem), Remedy: "put this change before the one that sews it"}
	}
	s.t, s.was, s.seams = t, t.p.Clone(), w.seamLengths()
	if err := a.underarm(w, &s); err != nil {
		return s, err
	}
	p := &s.was
	s.right, s.left = p.Edges[t.cap.first].Path.Start(), p.Edges[t.cap.last].Path.End()
	wide := s.left.Dist(s.right)
	hem := p.Edges[t.hem].Path
	long := hem.Length()
	biceps := func(share float64) geom.Point { return s.left.Lerp(s.right, share) }
	s.folds = [2]geom.Path{geom.Polyline(biceps(0.25), hem.PointAt(0.25*long)), geom.Polyline(biceps(0.75), hem.PointAt(0.75*long))}
	at := 0.75 + a.Forearm/wide
	if d := (1 - at) * wide; d < 15 {
		return s, pattern.Fault{Rule: "out_of_range", Pointer: "/forearm", Piece: p.Name, Detail: fmt.Sprintf("the forearm seam would lie %.1f mm from the underarm", d), Valid: fmt.Sprintf("up to %.1f mm under the front fold", wide/4-15), Remedy: "put it nearer to the fold"}
	}
	s.atForearm = biceps(at)
	fore, err := a.capAbove(p, &t, s.atForearm)
	if err != nil {
		return s, err
	}
	under := a.Forearm
	if a.ForearmHem != nil {
		under = *a.ForearmHem
	}
	foreHem, hindHem := 0.75*long+under, 0.25*long-a.HindarmHem
	if foreHem > long-10 || foreHem < long/2+10 {
		return s, hemFault("/forearm_hem", p, a.Hem, "forearm", "under the front fold", long, -long/4+10, long/4-10)
	}
	if hindHem < 10 || hindHem > long/2-10 {
		return s, hemFault("/hindarm_hem", p, a.Hem, "hindarm", "behind the back fold", long, -long/4+10, long/4-10)
	}
	down := t.up.Neg()
	c := fore.at(p)
	s.foreLevel = c.Dist(s.atForearm)
	s.forearm = geom.Polyline(c, s.atForearm).Join(swept(s.atForearm, down, hem.PointAt(foreHem), hem.TangentAt(foreHem).Right()))
	hind, err := a.hindAt(w, p, &t)
	if err != nil {
		return s, err
	}
	s.hindarm = swept(hind.at(p), down, hem.PointAt(hindHem), hem.TangentAt(hindHem).Right())
	for _, x := range []struct {
		ptr string
		at  spot
		is  geom.Path
	}{{"/forearm", fore, s.forearm}, {"/hindarm", hind, s.hindarm}} {
		if err := a.clear(p, x.ptr, x.at); err != nil {
			return s, err
		}
		if err := w.staysInside(p, x.is, x.ptr); err != nil {
			return s, err
		}
	}
	if x := geom.Intersect(s.forearm, s.hindarm, 1e-6); len(x) > 0 {
		return s, pattern.Fault{Rule: "lines_cross", Pointer: "/hindarm", Piece: p.Name, Detail: fmt.Sprintf("the two seams would cross at (%.1f, %.1f)", x[0].P.X, x[0].P.Y), Remedy: "set them further apart"}
	}
	if s.hindLevel, err = a.level(&s, s.hindarm, 0); err != nil {
		return s, err
	}
	for i := range w.p.Seams {
		if w.p.Seams[i].Cap {
			if c, err := inspect.Walk(&w.p, w.p.Seams[i].Sew); err == nil && c.Links[0].Piece.Name == a.Piece {
				s.cap += c.Len
			}
		}
	}
	return s, a.elbow(&s)
}

func hemFault(ptr string, p *pattern.Piece, hem, seam, where string, long, lo, hi float64) error {
	return pattern.Fault{Rule: "out_of_range", Pointer: ptr, Piece: p.Name, Edge: hem, Detail: fmt.Sprintf("the %s seam would end past its half of the hem, which is %.1f mm long", seam, long),
		Valid: fmt.Sprintf("%.1f to %.1f mm %s", lo, hi, where), Remedy: "end it nearer to the fold"}
}

// swept is a line from a to b that leaves and arrives in the given directions, drawn by the same share in every size.
func swept(a geom.Point, leave geom.Vec, b geom.Point, arrive geom.Vec) geom.Path {
	arm := 0.35 * a.Dist(b)
	return geom.Path{geom.Cubic(a, a.Add(leave.Unit().Mul(arm)), b.Add(arrive.Unit().Mul(-arm)), b)}
}

// underarm finds the two sides, which must be sewn to each other and be straight, to be laid together.
func (a *twoPieceArgs) underarm(w *work, s *twoPiece) error {
	p, t := &s.was, &s.t
	n := len(p.Edges)
	if (t.right+1)%n != t.cap.first || (t.cap.last+1)%n != t.left {
		return pattern.Fault{Rule: "no_cap", Pointer: "/piece", Piece: p.Name, Detail: fmt.Sprintf("the sides of %q have more than one edge between hem and cap", p.Name), Valid: "hem, side, cap, side", Remedy: "make it of two pieces before its sides are cut"}
	}
	s.backSide, s.front = p.Edges[t.left].Name, p.Edges[t.right].Name
	sewn := false
	for i := range w.p.Seams {
		m := &w.p.Seams[i]
		is := func(refs []pattern.EdgeRef, edge string) bool {
			return len(refs) == 1 && refs[0].Piece == p.Name && refs[0].Edge == edge
		}
		if is(m.Sew, s.backSide) && is(m.To, s.front) || is(m.Sew, s.front) && is(m.To, s.backSide) {
			sewn = true
			continue
		}
		for _, refs := range [2][]pattern.EdgeRef{m.Sew, m.To} {
			for _, r := range refs {
				if r.Piece == p.Name && (r.Edge == s.backSide || r.Edge == s.front) {
					return pattern.Fault{Rule: "edge_sewn", Pointer: "/piece", Piece: p.Name, Edge: r.Edge, Detail: fmt.Sprintf("seam %s sews the side %s to something else", m.Name, r.Edge), Valid: "a sleeve whose sides are sewn to each other", Remedy: "choose a one-piece sleeve"}
				}
			}
		}
	}
	if !sewn {
		return pattern.Fault{Rule: "no_underarm", Pointer: "/piece", Piece: p.Name, Edge: s.backSide, Detail: fmt.Sprintf("no seam sews %s to %s of %q", s.backSide, s.front, p.Name), Valid: "a sleeve whose sides are sewn to each other", Remedy: "choose a one-piece sleeve"}
	}
	// A slight bend, as lengthening leaves below the underarm, is drawn straight: the parts are laid together there.
	const bent = 8.0 // mm
	for _, i := range [2]int{t.left, t.right} {
		off := crooked(p.Edges[i].Path)
		if off > bent {
			return pattern.Fault{Rule: "curved_underarm", Pointer: "/piece", Piece: p.Name, Edge: p.Edges[i].Name, Detail: fmt.Sprintf("the side %s strays %.1f mm from straight, so that the under sleeve cannot be laid together", p.Edges[i].Name, off),
				Valid: fmt.Sprintf("straight sides, to %g mm", bent), Remedy: "put this change before the one that bends the sides; forearm_out and hindarm_out narrow the hem"}
		}
		if off > 1e-6 {
			s.stray = math.Max(s.stray, off)
			e := &p.Edges[i]
			l := e.Path.Length()
			e.Path = geom.Polyline(e.Path.Start(), e.Path.End())
			for k := range p.Marks {
				if m := &p.Marks[k]; m.Edge == e.Name {
					m.S *= e.Path.Length() / l
					m.At = e.Path.PointAt(m.S)
				}
			}
		}
	}
	return nil
}

// capAbove is where the grain line through a point of the biceps line meets the cap.
func (a *twoPieceArgs) capAbove(p *pattern.Piece, t *tube, q geom.Point) (spot, error) {
	line := geom.Polyline(q, q.Add(t.up.Mul(2*p.Outline().Bounds().H())))
	best, at := math.Inf(1), spot{}
	for _, i := range t.cap.edges(len(p.Edges)) {
		for _, x := range geom.Intersect(line, p.Edges[i].Path, 1e-6) {
			if x.S < best {
				best, at = x.S, spot{i, x.T}
			}
		}
	}
	if !(best > 3) || math.IsInf(best, 1) {
		return at, pattern.Fault{Rule: "out_of_range", Pointer: "/forearm", Piece: p.Name, Detail: fmt.Sprintf("there is no cap above the forearm seam at (%.1f, %.1f)", q.X, q.Y), Remedy: "put the seam nearer to the fold"}
	}
	return at, nil
}

// hindAt is where the hindarm seam begins on the back of the cap.
func (a *twoPieceArgs) hindAt(w *work, p *pattern.Piece, t *tube) (spot, error) {
	c, err := w.capLine(t, a.Crown)
	if err != nil {
		return spot{}, err
	}
	if c.back != 0 {
		return spot{}, pattern.Fault{Rule: "turned_over", Pointer: "/piece", Piece: p.Name, Detail: fmt.Sprintf("the back of the cap of %q lies on the right", p.Name), Valid: "the back on the left, as seen from the right side of the cloth", Remedy: "turn the sleeve over, or mark its back by a double notch"}
	}
	// The left half of the cap is walked from the underarm against the outline: from the end of its last edge.
	end := p.EdgeStart(t.cap.last) + p.Edges[t.cap.last].Path.Length()
	back := c.halves[0].length
	if a.HindarmShare != nil {
		return spotAt(p, end-*a.HindarmShare*back), nil
	}
	var names []string
	at, double := math.Inf(1), false
	for i := range p.Marks {
		m := &p.Marks[i]
		e := p.EdgeNamed(m.Edge)
		if e < 0 || m.Kind != pattern.Notch && m.Name != a.BackNotch {
			continue
		}
		d := math.Mod(end-p.EdgeStart(e)-m.S+2*p.Length(), p.Length())
		if d < 1 || d > back-1 {
			continue
		}
		names = append(names, m.Name)
		switch two := m.Count >= 2; {
		case a.BackNotch != "" && m.Name != a.BackNotch, a.BackNotch == "" && double && !two:
		case two && !double && a.BackNotch == "", d < at:
			at, double = d, two
		}
	}
	if math.IsInf(at, 1) {
		return spot{}, pattern.Fault{Rule: "unknown_mark", Pointer: "/back_notch", Piece: p.Name, Detail: fmt.Sprintf("the back of the cap of %q has no notch %s", p.Name, a.BackNotch), Valid: pattern.Choices(names), Remedy: "name a notch of the back cap, or give hindarm_share"}
	}
	d := at + a.Hindarm
	if d < 20 || d > back-20 {
		return spot{}, pattern.Fault{Rule: "out_of_range", Pointer: "/hindarm", Piece: p.Name, Detail: fmt.Sprintf("the hindarm seam would begin %.1f mm from the underarm, on a back cap of %.1f mm", d, back), Valid: fmt.Sprintf("%.1f to %.1f mm above the notch", 20-at, back-20-at), Remedy: "begin it nearer to the notch"}
	}
	return spotAt(p, end-d), nil
}

// clear refuses a seam that would begin at a mark, which would be cut away with the corner.
func (a *twoPieceArgs) clear(p *pattern.Piece, ptr string, at spot) error {
	const least = 5.5 // mm
	x := at.at(p)
	for i := range p.Marks {
		if m := &p.Marks[i]; m.Edge != "" && m.At.Dist(x) < least {
			return pattern.Fault{Rule: "mark_there", Pointer: ptr, Piece: p.Name, Edge: m.Edge, Detail: fmt.Sprintf("the seam would begin %.1f mm from the mark %s", m.At.Dist(x), m.Name), Valid: fmt.Sprintf("at least %g mm from it", least), Remedy: "move the seam by some millimetres"}
		}
	}
	return nil
}

// level is how far along a seam from the cap it lies so far below the biceps line.
func (a *twoPieceArgs) level(s *twoPiece, seam geom.Path, below float64) (float64, error) {
	v := s.right.Sub(s.left)
	drop := s.t.up.Mul(-below)
	x := geom.Intersect(seam, geom.Polyline(s.left.Add(drop).Add(v.Mul(-0.2)), s.right.Add(drop).Add(v.Mul(0.2))), 1e-6)
	if len(x) == 0 {
		return 0, pattern.Fault{Rule: "out_of_range", Pointer: "/elbow", Piece: s.was.Name, Detail: fmt.Sprintf("no seam lies %.1f mm below the biceps line", below), Remedy: "choose a level on the sleeve"}
	}
	return x[0].S, nil
}

// elbow finds the elbow, if one is wanted.
func (a *twoPieceArgs) elbow(s *twoPiece) error {
	const (
		rest  = 60.0  // mm of the sleeve above and below
		least = 200.0 // mm of underarm seam; an elbow lies about 180 mm below the underarm (common practice)
	)
	if a.Bend == 0 && a.ElbowEase == 0 {
		return nil
	}
	ptr := "/bend"
	if a.Bend == 0 {
		ptr = "/elbow_ease"
	}
	long := s.was.Edges[s.t.left].Path.Length()
	if long < least {
		return pattern.Fault{Rule: "no_elbow", Pointer: ptr, Piece: s.was.Name, Edge: s.backSide, Detail: fmt.Sprintf("the underarm seam is %.1f mm long, so that the sleeve ends above the elbow", long), Valid: fmt.Sprintf("an underarm seam of at least %g mm", least), Remedy: "lengthen the sleeve first"}
	}
	s.elbow = long/2 - 25
	if a.Elbow != nil {
		s.elbow = *a.Elbow
	}
	if s.elbow < rest || s.elbow > long-rest {
		return pattern.Fault{Rule: "out_of_range", Pointer: "/elbow", Piece: s.was.Name, Edge: s.backSide, Detail: fmt.Sprintf("an elbow %.1f mm below the underarm does not lie on an underarm seam of %.1f mm", s.elbow, long), Valid: fmt.Sprintf("%g to %.1f mm", rest, long-rest), Remedy: "measure it from the underarm down"}
	}
	var err error
	if s.foreElbow, err = a.level(s, s.forearm, s.elbow); err == nil {
		s.hindElbow, err = a.level(s, s.hindarm, s.elbow)
	}
	return err
}
