package change

import (
	"fmt"
	"math"

	"sizerun/internal/geom"
	"sizerun/internal/inspect"
	"sizerun/internal/pattern"
)

// The height of a cap at constant length (TRADE 4.2): a higher cap is steeper, so the sleeve is narrower at the biceps
// line and hangs closer; a lower one is wider and leaves the arm free. Where a half is one straight line of length l
// under a height h, Pythagoras gives its width √(l² − h²); where it is curved, the width is solved for.

type capHeightArgs struct {
	Piece string   `arg:"piece" kind:"name" default:"sleeve" says:"The sleeve."`
	By    *float64 `arg:"by" kind:"length" min:"-150" max:"150" says:"By how much the crown is raised; a negative length lowers it. Give this or to."`
	To    *float64 `arg:"to" kind:"length" min:"20" max:"400" says:"How high the crown is to lie above the biceps line. Give this or by."`
	HemAs string   `arg:"hem_width" kind:"choice" choices:"follows,kept" default:"follows" says:"Whether the hem becomes wider or narrower with the biceps line, or keeps its width, so that the underarm seams lean."`
	Crown string   `arg:"crown" kind:"name" default:"crown" says:"The dot at the crown."`
	Hem   string   `arg:"hem" kind:"name" default:"hem" says:"The hem edge."`
	Cap   []string `arg:"cap" kind:"names" says:"The edges of the cap; left out, those that are set into an armhole."`
}

func defineCapHeight() Definition {
	return Definition{
		Name:     "cap_height",
		Sentence: "Raises or lowers the cap of a sleeve and keeps its length: the sleeve becomes narrower or wider at the biceps line.",
		Promise:  "Each half of the cap keeps its length to 0.1 mm, and so its ease; the crown rises by exactly the amount; the underarm seams keep their lengths, the hem its width or follows, as stated.",
		Sketch: []Stroke{
			{CutAway, geom.Path{geom.Cubic(geom.Pt(86, 50), geom.Pt(72, 50), geom.Pt(70, 90), geom.Pt(50, 90)), geom.Cubic(geom.Pt(50, 90), geom.Pt(30, 90), geom.Pt(28, 50), geom.Pt(14, 50))}},
			{CutAway, geom.Polyline(geom.Pt(14, 50), geom.Pt(20, 8), geom.Pt(80, 8), geom.Pt(86, 50))},
			{Construction, geom.Polyline(geom.Pt(2, 50), geom.Pt(98, 50))},
			{Construction, geom.Polyline(geom.Pt(50, 50), geom.Pt(50, 90))},
			{New, geom.Path{geom.Cubic(geom.Pt(96, 50), geom.Pt(78, 50), geom.Pt(74, 74), geom.Pt(50, 74)), geom.Cubic(geom.Pt(50, 74), geom.Pt(26, 74), geom.Pt(22, 50), geom.Pt(4, 50))}},
			{New, geom.Polyline(geom.Pt(4, 50), geom.Pt(10, 8), geom.Pt(90, 8), geom.Pt(96, 50))},
		},
		fresh: func() args { return new(capHeightArgs) },
	}
}

func (a *capHeightArgs) check() pattern.Faults {
	switch {
	case a.By != nil && a.To != nil:
		return pattern.Faults{{Rule: "given_twice", Pointer: "/to", Detail: "cap_height: the height is told by by and by to", Remedy: "give one of them"}}
	case a.By == nil && a.To == nil:
		return pattern.Faults{{Rule: "missing", Pointer: "/by", Detail: "cap_height: nothing tells the height", Valid: "by or to", Remedy: "say by how much the crown is raised, or how high it is to be"}}
	case a.By != nil && *a.By == 0:
		return pattern.Faults{{Rule: "out_of_range", Pointer: "/by", Detail: "cap_height: by is nothing", Valid: "-150 to 150 mm, not 0", Remedy: "give a length, negative to lower the crown"}}
	}
	return nil
}

func (a *capHeightArgs) apply(w *work) error {
	t, err := w.opens(a.Piece, a.Hem, a.Cap)
	if err != nil {
		return err
	}
	c, err := w.capLine(&t, a.Crown)
	if err != nil {
		return err
	}
	_, high := c.biceps(&c.was)
	ptr, rise := "/to", 0.0
	if a.By != nil {
		ptr, rise = "/by", *a.By
	} else {
		rise = *a.To - high
	}
	under := [2]geom.Point{}
	for i := range c.halves {
		h := &c.halves[i]
		wide, ok := c.width(i, h.length, h.high+rise)
		if !ok || !h.bearable(wide, h.high+rise) {
			return a.refuse(&c, ptr, high, rise)
		}
		under[i] = h.under.Add(c.across(i).Mul(h.wide - wide))
	}
	if err := w.redrawCap(&c, c.crown.Add(t.up.Mul(rise)), under, a.HemAs == "kept", nil); err != nil {
		return err
	}
	a.promises(w, &c, high+rise)
	a.tell(w, &c)
	return nil
}

// refuse tells how high a cap of that length can be.
func (a *capHeightArgs) refuse(c *capLine, ptr string, high, rise float64) error {
	p := c.t.p
	fits := func(by float64) bool {
		for i := range c.halves {
			h := &c.halves[i]
			if wide, ok := c.width(i, h.length, h.high+by); !ok || !h.bearable(wide, h.high+by) {
				return false
			}
		}
		return true
	}
	edge := func(far float64) float64 {
		near := 0.0
		for range 20 {
			if m := (near + far) / 2; fits(m) {
				near = m
			} else {
				far = m
			}
		}
		return near
	}
	lo, hi := edge(-high), edge(high)
	if ptr == "/to" {
		lo, hi = lo+high, hi+high
	}
	return pattern.Fault{Rule: "out_of_range", Pointer: ptr, Piece: p.Name, Edge: p.Edges[c.halves[c.back].edges[0]].Name,
		Detail: fmt.Sprintf("the cap of %q is %.1f mm high, and a curve of the same length cannot be %.1f mm high", p.Name, high, high+rise),
		Valid:  fmt.Sprintf("about %.0f to %.0f mm", math.Ceil(lo), math.Floor(hi)), Remedy: "raise or lower it less, or change the ease of the cap first"}
}

func (a *capHeightArgs) promises(w *work, c *capLine, want float64) {
	t, p := c.t, c.t.p
	off := 0.0
	for i := range c.halves {
		l := -c.halves[i].length
		for _, e := range c.halves[i].edges {
			l += p.Edges[e].Path.Length()
		}
		off = math.Max(off, math.Abs(l))
	}
	w.promise(inspect.Check{Rule: "cap_height_length", Piece: p.Name, Place: "cap", Measured: off, Tolerance: 0.1, Unit: inspect.MM,
		Text: fmt.Sprintf("Each half of the cap of %s keeps its length to %.3f mm.", p.Name, off)})
	w0, _ := c.biceps(&c.was)
	w1, h1 := c.biceps(p)
	w.promise(inspect.Check{Rule: "cap_height_high", Piece: p.Name, Place: "cap", Measured: h1, Want: pattern.Range{Min: want, Max: want}, Tolerance: 0.1, Unit: inspect.MM,
		Text: fmt.Sprintf("The cap of %s is %.2f mm high.", p.Name, h1)})
	grown, hem := w1-w0, t.hemWide(p)-t.hemWide(&c.was)
	if a.HemAs == "kept" {
		grown = 0
	}
	w.promise(inspect.Check{Rule: "cap_height_hem", Piece: p.Name, Place: p.Edges[t.hem].Name, Measured: hem, Want: pattern.Range{Min: grown, Max: grown}, Tolerance: 0.1, Unit: inspect.MM,
		Text: fmt.Sprintf("Across the grain the hem of %s is %.2f mm wider, its biceps line %.2f mm.", p.Name, hem, w1-w0)})
	w.capPromises(c)
}

func (a *capHeightArgs) tell(w *work, c *capLine) {
	p := c.t.p
	w0, h0 := c.biceps(&c.was)
	w1, h1 := c.biceps(p)
	w.res.Steps = append(w.res.Steps, Step{Stage: Prepare, Pieces: []string{p.Name},
		Text: fmt.Sprintf("Before cutting, compare the width of %s at the biceps line, %s, with the arm: under a cap %s high it is %s %s than it was.",
			p.Name, say(w1), say(h1), say(math.Abs(w1-w0)), map[bool]string{true: "wider", false: "narrower"}[w1 >= w0]),
		Amounts: []Amount{{"cap height", h1}, {"biceps width", w1}}})
	d := plan{d: Drawing{Title: fmt.Sprintf("Cap of %s %s by %s, size %s", p.Name, map[bool]string{true: "raised", false: "lowered"}[h1 >= h0], say(math.Abs(h1-h0)), w.p.Size)}}
	c0, c1 := c.halves[0].length, c.halves[1].length
	d.capDrawn(c, fmt.Sprintf("%s the crown by %s. Move each underarm corner along the biceps line until its half of the cap is as long as it was, %s and %s. For a straight half Pythagoras tells how wide it is: the root of its length squared less its height squared.",
		map[bool]string{true: "Raise", false: "Lower"}[h1 >= h0], say(math.Abs(h1-h0)), say(c0), say(c1)), "cap", "cap")
	w.res.Drawing = d.d
}
