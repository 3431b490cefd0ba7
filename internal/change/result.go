package change

import (
	"fmt"
	"math"
	"strings"

	"sizerun/internal/geom"
	"sizerun/internal/inspect"
	"sizerun/internal/pattern"
)

// Result is what a change gives in one size.
type Result struct {
	Pattern pattern.Pattern
	Checks  []inspect.Check // promised, with the measures of this size
	Steps   []Step          // what it adds to the order of sewing
	Drawing Drawing
	Notions []string // what must be bought besides cloth
	// Finished is what is to be measured on the pieces that it made, told as they are now. One that has the
	// name of an older one takes its place.
	Finished []pattern.Finished
}

// Stage orders the sewing steps of several changes.
type Stage int

// Pieces are first prepared on their own, the parts of one piece sewn together again; then all are joined, set in,
// and finished. A collar goes on as soon as
// the shoulders are closed, and before whatever is joined over its seam, such as a facing.
const (
	Prepare Stage = iota
	Assemble
	Collar
	Join
	SetIn
	Finish
)

// Step is one step of sewing, with its amounts from the actual pattern.
type Step struct {
	Stage   Stage
	Pieces  []string
	Text    string
	Amounts []Amount
	// Whole: the steps of this change tell all the sewing of its Pieces.
	Whole bool
	// Told are the pieces of which all seams and hems are told, Seams the other seams that are: Apply fills in
	// the Pieces of a Whole step, and else the pieces and seams that the change has made of nothing.
	Told, Seams []string
}

// tellMade fills in what the steps tell.
func (w *work) tellMade(before *pattern.Pattern) {
	old := map[string]bool{}
	for i := range before.Seams {
		old[before.Seams[i].Name] = true
	}
	for i := range w.res.Notions {
		w.res.Notions[i] = sensible(w.res.Notions[i])
	}
	for i := range w.res.Steps {
		st := &w.res.Steps[i]
		st.Text = sensible(st.Text)
		if st.Whole {
			st.Told = st.Pieces
			continue
		}
		of := map[string]bool{}
		for _, n := range st.Pieces {
			of[n] = true
			if p := w.p.PieceNamed(n); p != nil && p.Of == n && before.PieceNamed(n) == nil {
				st.Told = append(st.Told, n)
			}
		}
		for k := range w.p.Seams {
			s := &w.p.Seams[k]
			all := !old[s.Name]
			for _, refs := range [2][]pattern.EdgeRef{s.Sew, s.To} {
				for _, r := range refs {
					all = all && of[r.Piece]
				}
			}
			if all {
				st.Seams = append(st.Seams, s.Name)
			}
		}
	}
}

// tellGone says in the working drawing which pieces are left out.
func (w *work) tellGone() {
	for _, n := range w.gone {
		if w.p.PieceNamed(n) == nil { // else a new one has its name
			w.res.Drawing.Steps = append(w.res.Drawing.Steps, fmt.Sprintf("Leave out %s, which was sewn on before.", strings.ReplaceAll(n, "_", " ")))
		}
	}
}

// Amount is a length that a Step speaks of.
type Amount struct {
	Name string
	MM   float64
}

// Drawing is the working drawing of a change: what a teacher shows and a maker redoes by hand. Steps
// are in the order of drawing; points and lines appear with their step.
type Drawing struct {
	Title    string
	Lines    []Line
	Points   []Point
	Measures []Measure
	Steps    []string // Steps[0] is step 1
}

// Line is drawn in a step; step 0 is what was there before.
type Line struct {
	Step  int
	Kind  StrokeKind
	Piece string
	Path  geom.Path
	Label string
}

// Point is a numbered point.
type Point struct {
	N     int
	Step  int
	At    geom.Point
	Label string
}

// Measure is a distance between two numbered points, along a line when Path is set.
type Measure struct {
	Step     int
	From, To int
	MM       float64
	Path     geom.Path
	Label    string
}

// plan builds a Drawing in order.
type plan struct{ d Drawing }

func (l *plan) step(format string, a ...any) {
	l.d.Steps = append(l.d.Steps, fmt.Sprintf(format, a...))
}

func (l *plan) line(kind StrokeKind, piece string, p geom.Path, label string) {
	if len(p) > 0 {
		l.d.Lines = append(l.d.Lines, Line{len(l.d.Steps), kind, piece, p, label})
	}
}

func (l *plan) point(at geom.Point, label string) int {
	n := len(l.d.Points) + 1
	l.d.Points = append(l.d.Points, Point{n, len(l.d.Steps), at, label})
	return n
}

func (l *plan) measure(from, to int, along geom.Path, label string) {
	mm := along.Length()
	if len(along) == 0 {
		mm = l.d.Points[from-1].At.Dist(l.d.Points[to-1].At)
	}
	l.d.Measures = append(l.d.Measures, Measure{len(l.d.Steps), from, to, mm, along, label})
}

// say writes a length for a sewer: millimetres, and the eighth of an inch where it is one.
func say(mm float64) string {
	s := strings.TrimSuffix(strings.TrimRight(fmt.Sprintf("%.2f", mm), "0"), ".")
	if math.Abs(mm-math.Round(mm*10)/10) <= 0.03 || len(s) > 5 {
		s = strings.TrimSuffix(fmt.Sprintf("%.1f", mm), ".0")
	}
	if in := inches(mm); in != "" {
		return fmt.Sprintf("%s mm (%s in)", s, in)
	}
	return s + " mm"
}

// inches gives a length as whole inches and eighths, "" where it is none to 0.05 mm.
func inches(mm float64) string {
	text, off := pattern.Inches(mm, 8)
	if off > 0.05 || text == "0" || mm <= 0 || mm > 100*pattern.Inch {
		return ""
	}
	return text
}
