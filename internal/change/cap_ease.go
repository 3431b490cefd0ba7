package change

import (
	"fmt"
	"math"

	"sizerun/internal/geom"
	"sizerun/internal/inspect"
	"sizerun/internal/pattern"
)

// The ease of a cap (TRADE 4.2): its curve is redrawn until each half is as long as its armhole and its share of the
// ease. Two lengths are to be met, so two things move: the crown up or down and, for the share, a little to the front
// or back; or, where the height is to stay, the two underarm corners.

type capEaseArgs struct {
	Piece string  `arg:"piece" kind:"name" default:"sleeve" says:"The sleeve."`
	Ease  float64 `arg:"ease" kind:"length" min:"-5" max:"80" default:"25mm" says:"How much longer the cap is to be than the armhole; gathers come on top. By habit 12 to 40 mm in woven cloth, up to 13 mm in a shirt."`
	Back  float64 `arg:"back_share" kind:"share" min:"0.2" max:"0.9" default:"0.6" says:"The share of the ease that lies on the back; the front gets the rest."`
	Keep  string  `arg:"keep" kind:"choice" choices:"width,height" default:"width" says:"What stays as it is: the width at the biceps line, and the crown is raised or lowered; or the height of the cap, and the sleeve becomes wider or narrower."`
	HemAs string  `arg:"hem_width" kind:"choice" choices:"follows,kept" default:"follows" says:"Where the width changes, whether the hem follows it or keeps its own, so that the underarm seams lean."`
	Crown string  `arg:"crown" kind:"name" default:"crown" says:"The dot at the crown."`
	Hem   string  `arg:"hem" kind:"name" default:"hem" says:"The hem edge."`
}

func defineCapEase() Definition {
	return Definition{
		Name:     "cap_ease",
		Sentence: "Redraws the cap of a sleeve until it is longer than the armhole by the stated ease.",
		Promise:  "The cap less the armhole is the stated ease to 0.1 mm in every size, and so is each half's share; width or height of the cap stays, the underarm seams keep their lengths, the lower notches their distance from the underarm; the curve stays smooth at crown and underarm.",
		Sketch: []Stroke{
			{CutAway, geom.Path{geom.Cubic(geom.Pt(95, 50), geom.Pt(76, 50), geom.Pt(72, 76), geom.Pt(50, 76)), geom.Cubic(geom.Pt(50, 76), geom.Pt(28, 76), geom.Pt(24, 50), geom.Pt(5, 50))}},
			{Construction, geom.Polyline(geom.Pt(5, 50), geom.Pt(95, 50))},
			{Construction, geom.Polyline(geom.Pt(50, 50), geom.Pt(50, 92))},
			{Outline, geom.Polyline(geom.Pt(5, 50), geom.Pt(12, 8), geom.Pt(88, 8), geom.Pt(95, 50))},
			{New, geom.Path{geom.Cubic(geom.Pt(95, 50), geom.Pt(76, 50), geom.Pt(72, 92), geom.Pt(50, 92)), geom.Cubic(geom.Pt(50, 92), geom.Pt(28, 92), geom.Pt(24, 50), geom.Pt(5, 50))}},
		},
		fresh: func() args { return new(capEaseArgs) },
	}
}

func (a *capEaseArgs) apply(w *work) error {
	find := w.tube
	if a.Keep == "height" { // the hem moves too
		find = w.opens
	}
	t, err := find(a.Piece, a.Hem, nil)
	if err != nil {
		return err
	}
	c, err := w.capLine(&t, a.Crown)
	if err != nil {
		return err
	}
	s, err := w.setIn(&c)
	if err != nil {
		return err
	}
	want := [2]float64{(1 - a.Back) * a.Ease, (1 - a.Back) * a.Ease}
	want[c.back] = a.Back * a.Ease
	var long [2]float64
	for i := range long {
		long[i] = s[i].to + s[i].drawn + want[i]
	}
	crown, under, err := a.fit(&c, &s, long)
	if err != nil {
		return err
	}
	surplus := func(i int) (float64, float64) { return c.halves[i].length - s[i].to, long[i] - s[i].to }
	if err := w.redrawCap(&c, crown, under, a.HemAs == "kept", surplus); err != nil {
		return err
	}
	for i := range s {
		w.p.Seams[s[i].seam].Ease = pattern.Range{Min: want[i], Max: want[i]}
	}
	if err := a.promises(w, &c, want); err != nil {
		return err
	}
	a.tell(w, &c, &s, want)
	return nil
}

// setIn is what a half of a cap is set into.
type setIn struct {
	seam      int
	to, drawn float64
	piece     string
}

// setIn finds the seam of each half.
func (w *work) setIn(c *capLine) ([2]setIn, error) {
	var out [2]setIn
	p := c.t.p
	for i := range c.halves {
		h := &c.halves[i]
		out[i].seam = -1
		for k := range w.p.Seams {
			s := &w.p.Seams[k]
			whole, some := w.capSeam(c, h, k)
			if !some {
				continue
			}
			if !whole || out[i].seam >= 0 {
				return out, pattern.Fault{Rule: "cap_seam", Pointer: "/crown", Piece: p.Name, Edge: p.Edges[h.edges[0]].Name, Detail: fmt.Sprintf("seam %s does not set in just one half of the cap of %q, so nothing tells what that half has to fit", s.Name, p.Name),
					Valid: "one seam from the underarm to the crown on each half", Remedy: "let the seams of the cap meet at its crown"}
			}
			to, err := inspect.Walk(&w.p, s.To)
			if err != nil {
				return out, err
			}
			out[i] = setIn{k, to.Len, s.Drawn, to.Links[0].Piece.Name}
		}
		if out[i].seam < 0 || !w.p.Seams[out[i].seam].Cap {
			return out, pattern.Fault{Rule: "not_set_in", Pointer: "/piece", Piece: p.Name, Edge: p.Edges[h.edges[0]].Name, Detail: fmt.Sprintf("%s.%s is not set into an armhole, so it has no ease", p.Name, p.Edges[h.edges[0]].Name),
				Valid: pattern.Choices(w.sleeves()), Remedy: "name a sleeve that is set in"}
		}
	}
	return out, nil
}

// fit finds where crown and underarm corners go.
func (a *capEaseArgs) fit(c *capLine, s *[2]setIn, long [2]float64) (geom.Point, [2]geom.Point, error) {
	under := [2]geom.Point{c.halves[0].under, c.halves[1].under}
	if a.Keep == "width" {
		rise, wide, ok := c.fitWithin(long)
		if !ok {
			return c.crown, under, a.refuse(c, s)
		}
		h := &c.halves[1]
		return h.under.Add(c.across(1).Mul(wide[1])).Add(c.t.up.Mul(h.high + rise)), under, nil
	}
	for i := range c.halves {
		h := &c.halves[i]
		wide, ok := c.width(i, long[i], h.high)
		if !ok || !h.bearable(wide, h.high) {
			return c.crown, under, a.refuse(c, s)
		}
		under[i] = h.under.Add(c.across(i).Mul(h.wide - wide))
	}
	return c.crown, under, nil
}

// refuse tells what ease the cap can have at most and at least.
func (a *capEaseArgs) refuse(c *capLine, s *[2]setIn) error {
	p := c.t.p
	can := func(k float64) float64 {
		ease := 0.0
		for i := range c.halves {
			h := &c.halves[i]
			wide, high := h.wide, h.high
			if a.Keep == "width" {
				high = math.Max(leastCap, k*high)
			} else {
				wide = math.Max(leastCap, k*wide)
			}
			ease += c.long(i, wide, high) - s[i].to - s[i].drawn
		}
		return ease
	}
	now := can(1)
	what := map[string]string{"width": "biceps width", "height": "height"}[a.Keep]
	return pattern.Fault{Rule: "out_of_range", Pointer: "/ease", Piece: p.Name, Edge: p.Edges[c.halves[c.back].edges[0]].Name,
		Detail: fmt.Sprintf("the cap of %q, which has %.1f mm of ease, cannot be redrawn with %.1f mm and the same %s", p.Name, now, a.Ease, what),
		Valid:  fmt.Sprintf("about %.0f to %.0f mm", math.Ceil(can(flattest)), math.Floor(can(stretched))), Remedy: "choose another ease or share, or keep the other measure"}
}

func (a *capEaseArgs) promises(w *work, c *capLine, want [2]float64) error {
	p := c.t.p
	now, err := w.setIn(c)
	if err != nil {
		return err
	}
	total := 0.0
	for i := range now {
		l := 0.0
		for _, e := range c.halves[i].edges {
			l += p.Edges[e].Path.Length()
		}
		ease := l - now[i].to - now[i].drawn
		total += ease
		side := "front"
		if i == c.back {
			side = "back"
		}
		w.promise(inspect.Check{Rule: "cap_ease_half", Piece: p.Name, Place: w.p.Seams[now[i].seam].Name, Measured: ease, Want: pattern.Range{Min: want[i], Max: want[i]}, Tolerance: 0.1, Unit: inspect.MM,
			Text: fmt.Sprintf("The %s of the cap of %s has %.2f mm of ease.", side, p.Name, ease)})
	}
	w.promise(inspect.Check{Rule: "cap_ease_total", Piece: p.Name, Place: "cap", Measured: total, Want: pattern.Range{Min: a.Ease, Max: a.Ease}, Tolerance: 0.1, Unit: inspect.MM,
		Text: fmt.Sprintf("The cap of %s is longer than its armhole by %.2f mm.", p.Name, total)})
	w0, h0 := c.biceps(&c.was)
	w1, h1 := c.biceps(p)
	still, what := w1-w0, "width at the biceps line"
	if a.Keep == "height" {
		still, what = h1-h0, "height"
	}
	w.promise(inspect.Check{Rule: "cap_ease_still", Piece: p.Name, Place: "cap", Measured: still, Tolerance: 0.1, Unit: inspect.MM,
		Text: fmt.Sprintf("The cap of %s keeps its %s to %.3f mm.", p.Name, what, math.Abs(still))})
	w.capPromises(c)
	return nil
}

func (a *capEaseArgs) tell(w *work, c *capLine, s *[2]setIn, want [2]float64) {
	p := c.t.p
	back, front := want[c.back], want[1-c.back]
	text := fmt.Sprintf("The cap of %s is longer than the armhole by %s at the back and %s at the front, all of it above the notches: try on a scrap whether the cloth takes so much, and shrink it with steam once the ease stitches are drawn up.", p.Name, say(back), say(front))
	if a.Ease < 6 {
		text = fmt.Sprintf("Set %s in flat, without ease stitches: its cap is longer than the armhole by only %s.", p.Name, say(a.Ease))
		if a.Ease <= 0 {
			text = fmt.Sprintf("Set %s in flat, stretching its cap by %s to the armhole.", p.Name, say(-a.Ease))
			if a.Ease == 0 {
				text = fmt.Sprintf("Set %s in flat: its cap is as long as the armhole.", p.Name)
			}
		}
	}
	w.res.Steps = append(w.res.Steps, Step{Stage: Prepare, Pieces: []string{p.Name}, Text: text,
		Amounts: []Amount{{"ease", a.Ease}, {"ease at the back", back}, {"ease at the front", front}}})
	d := plan{d: Drawing{Title: fmt.Sprintf("Cap of %s with %s of ease, size %s", p.Name, say(a.Ease), w.p.Size)}}
	w0, h0 := c.biceps(&c.was)
	w1, h1 := c.biceps(p)
	how := fmt.Sprintf("Armhole and ease: %s and %s at the back, %s and %s at the front.", say(s[c.back].to), say(back), say(s[1-c.back].to), say(front))
	if a.Keep == "width" {
		// From the left side to the right: forwards, where the back lies on the left.
		on := c.now().Sub(c.crown).Dot(c.t.up.Right()) * float64(1-2*c.back)
		how += fmt.Sprintf(" %s the crown by %s and move it %s to the %s: there both halves fit.", map[bool]string{true: "Raise", false: "Lower"}[h1 >= h0], say(math.Abs(h1-h0)), say(math.Abs(on)), map[bool]string{true: "front", false: "back"}[on >= 0])
	} else {
		how += fmt.Sprintf(" Move the underarm corners along the biceps line until both halves fit: the sleeve becomes %s by %s.", map[bool]string{true: "wider", false: "narrower"}[w1 >= w0], say(math.Abs(w1-w0)))
	}
	names := [2]string{"cap front", "cap front"}
	names[c.back] = "cap back"
	d.capDrawn(c, how, names[:]...)
	w.res.Drawing = d.d
}
