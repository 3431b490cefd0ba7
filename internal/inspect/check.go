package inspect

import (
	"math"
	"slices"
	"sort"

	"sizerun/internal/allowance"
	"sizerun/internal/pattern"
)

// Verdict is the outcome of a check.
type Verdict string

// A warning is shown to the maker; a failure stops delivery.
const (
	Pass Verdict = "pass"
	Warn Verdict = "warn"
	Fail Verdict = "fail"
)

// The units that a Check measures in.
const (
	MM      = "mm"
	Degrees = "deg"
	Percent = "%"
	Count   = "count"
)

// Check is one claim about one place in one size, with what was measured there.
type Check struct {
	Rule      string // stable identifier, snake_case: "seam_length", "notch_walk", …
	Size      string
	Piece     string
	Place     string // an edge, mark or seam, by name
	Measured  float64
	Want      pattern.Range
	Tolerance float64
	// Bearable is a wider range for habits rather than laws: outside Want but inside it the verdict
	// is a warning. nil: outside Want it fails.
	Bearable *pattern.Range
	Unit     string
	Verdict  Verdict
	Text     string // one plain sentence
	Source   string // where the wanted range comes from
}

// Judge fills the Verdict from the numbers. What is not a number fails.
func Judge(c Check) Check {
	switch {
	case math.IsNaN(c.Measured) || math.IsInf(c.Measured, 0):
		c.Measured, c.Verdict = 0, Fail
		c.Text += " It could not be measured."
	case c.Want.Has(c.Measured, c.Tolerance):
		c.Verdict = Pass
	case c.Bearable != nil && c.Bearable.Has(c.Measured, c.Tolerance):
		c.Verdict = Warn
	default:
		c.Verdict = Fail
	}
	return c
}

// Report is every check and how many passed.
type Report struct {
	Checks           []Check
	Pass, Warn, Fail int
}

// Sized is one size: the pattern, its cut lines (one per piece, found by name; may be missing while a
// style is being worked on) and the checks that its changes promised.
type Sized struct {
	Pattern  pattern.Pattern
	Cut      []allowance.Piece
	Promised []Check
	Finished []Taken // what the garment measures
	// Worn says that it is a garment, which must be put on, and not a block that one is made of.
	Worn bool
}

func (s *Sized) cut(piece string) *allowance.Piece {
	for i := range s.Cut {
		if s.Cut[i].Name == piece {
			return &s.Cut[i]
		}
	}
	return nil
}

// Options are the tolerances and ranges. DefaultOptions gives the habits of the trade.
type Options struct {
	SeamLength  float64 // mm that sewn edges may differ from their stated ease
	Notch       float64 // mm that notches may miss each other
	Smooth      float64 // degrees from smooth across a seam
	Closed      float64 // mm gap between edges; also the resolution of self-crossings
	Corner      float64 // mm that a mark keeps from a corner
	CornerTurn  float64 // degrees: less of a turn than this is no corner to a mark
	OnEdge      float64 // mm that a mark may lie off its edge or outside
	Underarm    float64 // mm of ease allowed between underarm and notch of a cap
	CapEase     pattern.Range
	CapBearable pattern.Range
	CapShare    pattern.Range // cap ease as % of the armhole
	HemTurn     float64       // % that a turned raw edge may differ; past it a warning
	HemTurnMost float64       // % past which it fails
	Growth      float64       // mm that a step may be off the even one
	GrainShare  pattern.Range // grain line length as % of what the piece has room for
}

// DefaultOptions are the usual tolerances (common practice; TRADE sections 4.2, 6 and 7).
func DefaultOptions() Options {
	return Options{
		SeamLength: 0.5, Notch: 1, Smooth: 2, Closed: 0.01, Corner: 5, CornerTurn: 15, OnEdge: 0.1,
		Underarm: 2, CapEase: pattern.Range{Min: 12, Max: 40}, CapBearable: pattern.Range{Min: 0, Max: 50},
		CapShare: pattern.Range{Min: 3, Max: 8}, HemTurn: 4, HemTurnMost: 12, Growth: 0.5,
		GrainShare: pattern.Range{Min: 25, Max: 100},
	}
}

const habit = "common practice"

// Run checks every size, then the growth over the sizes that stand in the chart. The zero Options
// means DefaultOptions.
func Run(sizes []Sized, chart pattern.SizeChart, o Options) Report {
	if o == (Options{}) {
		o = DefaultOptions()
	}
	var r Report
	for i := range sizes {
		s := &sizes[i]
		w := watch{s: s, o: o, out: r.Checks}
		w.seams()
		w.caps()
		w.shapes()
		w.marks()
		w.hems()
		w.putOn()
		w.ease()
		for _, c := range s.Promised {
			if c.Size == "" {
				c.Size = s.Pattern.Size
			}
			w.out = append(w.out, Judge(c))
		}
		r.Checks = w.out
		if i == 0 { // the other sizes are checked alike
			r.Checks = slices.Grow(r.Checks, len(r.Checks)*len(sizes))
		}
	}
	r.Checks = append(r.Checks, bodies(sizes, chart)...)
	r.Checks = append(r.Checks, growth(sizes, chart, o)...)
	for _, c := range r.Checks {
		switch c.Verdict {
		case Pass:
			r.Pass++
		case Warn:
			r.Warn++
		default:
			r.Fail++
		}
	}
	return r
}

// Worst lists the failures, then the warnings, keeping their order: what a maker reads first.
func (r Report) Worst() []Check {
	var out []Check
	for _, c := range r.Checks {
		if c.Verdict != Pass {
			out = append(out, c)
		}
	}
	sort.SliceStable(out, func(i, j int) bool { return out[i].Verdict == Fail && out[j].Verdict != Fail })
	return out
}

// watch collects the checks of one size.
type watch struct {
	s   *Sized
	o   Options
	out []Check // of this size, after those of the sizes before
}

func (w *watch) say(c Check) {
	c.Size = w.s.Pattern.Size
	if c.Source == "" {
		c.Source = habit
	}
	w.out = append(w.out, Judge(c))
}
