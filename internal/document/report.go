package document

import (
	"bytes"
	"encoding/json"
	"math"
	"strconv"

	"sizerun/internal/change"
	"sizerun/internal/geom"
	"sizerun/internal/inspect"
	"sizerun/internal/maker"
)

// The report as it goes out. Lengths are mm, rounded to 0.001 like everything answered.
type reportDoc struct {
	Style   string     `json:"style"`
	Title   string     `json:"title,omitempty"`
	Block   string     `json:"block"`
	Sizes   []string   `json:"sizes"`
	Pass    int        `json:"pass"`
	Warn    int        `json:"warn"`
	Fail    int        `json:"fail"`
	Checks  []checkDoc `json:"checks"`
	Body    []rowDoc   `json:"body"`
	Done    []rowDoc   `json:"finished"`
	Cutting []clothDoc `json:"cutting"`
	Sewing  []sewDoc   `json:"sewing"`
	Order   []orderDoc `json:"order_of_sewing"`
	Notions []string   `json:"notions"`
	Drawing []drawDoc  `json:"working_drawings"`
}

type checkDoc struct {
	Rule      string     `json:"rule"`
	Size      string     `json:"size,omitempty"`
	Piece     string     `json:"piece,omitempty"`
	Place     string     `json:"place,omitempty"`
	Measured  float64    `json:"measured"`
	Want      [2]float64 `json:"want"`
	Tolerance float64    `json:"tolerance"`
	Unit      string     `json:"unit"`
	Verdict   string     `json:"verdict"`
	Text      string     `json:"text"`
	Source    string     `json:"source,omitempty"`
}

type sewDoc struct {
	Step    int         `json:"step"`
	Size    string      `json:"size"` // whose amounts the text tells
	Pieces  []string    `json:"pieces"`
	Text    string      `json:"text"`
	Amounts []amountDoc `json:"amounts,omitempty"`
}

// clothDoc is what is cut from one cloth.
type clothDoc struct {
	Cloth  string   `json:"cloth"`
	Pieces []cutDoc `json:"pieces"`
	// Area is what the pieces of interfacing measure together in each size, m2, without cutting waste.
	Area map[string]float64 `json:"area_m2,omitempty"`
}

type cutDoc struct {
	Piece string `json:"piece"` // its title
	Cut   int    `json:"cut"`
	How   string `json:"how"`
	Fold  bool   `json:"on_fold"`
	// Interfaced is how many of them are cut from interfacing, too, where they are listed again.
	Interfaced int `json:"interfaced"`
	// BySize is how many are cut in each size, where that is not the same in all.
	BySize map[string]int `json:"by_size,omitempty"`
}

// orderDoc is one step of the whole order of sewing, the block's own seams among those of the changes, as the
// companion prints it.
type orderDoc struct {
	Step    int         `json:"step"`
	Part    string      `json:"part"`
	Size    string      `json:"size"` // whose amounts the text tells
	Text    string      `json:"text"`
	Amounts []amountDoc `json:"amounts,omitempty"`
}

// amountDoc gives a length in every size made: sewing steps are the same, their amounts are not.
type amountDoc struct {
	Name string             `json:"name"`
	MM   map[string]float64 `json:"mm"`
}

type drawDoc struct {
	Title    string       `json:"title"`
	Size     string       `json:"size"`
	Steps    []string     `json:"steps"`
	Points   []pointDoc   `json:"points"`
	Lines    []lineDoc    `json:"lines"`
	Measures []measureDoc `json:"measures"`
}

type pointDoc struct {
	N     int        `json:"n"`
	Step  int        `json:"step"`
	At    [2]float64 `json:"at"`
	Label string     `json:"label,omitempty"`
}

type lineDoc struct {
	Step  int    `json:"step"`
	Kind  string `json:"kind"`
	Piece string `json:"piece,omitempty"`
	Path  string `json:"path"`
	Label string `json:"label,omitempty"`
}

type measureDoc struct {
	Step  int     `json:"step"`
	From  int     `json:"from"`
	To    int     `json:"to"`
	MM    float64 `json:"mm"`
	Label string  `json:"label,omitempty"`
}

// EncodeReport writes what was found out about a made style: every check in every size, the sewing
// steps with their amounts, and the working drawings of the base size (or of the first size made).
func EncodeReport(m maker.Made, drawn ...*maker.Size) ([]byte, error) {
	r := reportDoc{Style: m.Style.Name, Title: m.Style.Title, Block: m.Block.Name,
		Pass: m.Report.Pass, Warn: m.Report.Warn, Fail: m.Report.Fail,
		Sizes: []string{}, Checks: make([]checkDoc, 0, len(m.Report.Checks)), Body: bodies(m), Done: garment(m), Cutting: []clothDoc{}, Sewing: []sewDoc{}, Order: []orderDoc{}, Notions: []string{}, Drawing: []drawDoc{}}
	for _, c := range m.Report.Checks {
		r.Checks = append(r.Checks, oneCheck(c))
	}
	for i := range m.Sizes {
		r.Sizes = append(r.Sizes, m.Sizes[i].Pattern.Size)
	}
	if len(m.Sizes) > 0 {
		s := m.Shown()
		r.Sewing, r.Notions = sewing(m, s), append(r.Notions, s.Notions...)
		r.Cutting, r.Order = cutting(m), wholeOrder(m, s)
		if len(drawn) == 0 {
			drawn = []*maker.Size{s}
		}
		for _, s := range drawn {
			for _, d := range s.Drawings {
				r.Drawing = append(r.Drawing, drawing(d, s.Pattern.Size))
			}
		}
	}
	return encode(r)
}

// encode writes JSON a person can read and a diff can compare, without escaping < and > for HTML.
func encode(v any) ([]byte, error) {
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	err := e.Encode(v)
	return indent(b.Bytes()), err
}

func oneCheck(c inspect.Check) checkDoc {
	return checkDoc{Rule: c.Rule, Size: c.Size, Piece: c.Piece, Place: c.Place, Measured: milli(c.Measured),
		Want: [2]float64{milli(c.Want.Min), milli(c.Want.Max)}, Tolerance: milli(c.Tolerance), Unit: c.Unit,
		Verdict: string(c.Verdict), Text: c.Text, Source: c.Source}
}

// milli rounds to 0.001; what JSON can't hold becomes the largest number that it can.
func milli(v float64) float64 {
	switch {
	case math.IsNaN(v):
		return 0
	case math.Abs(v) > 1e12:
		return math.Copysign(1e12, v)
	}
	return math.Round(v*1000)/1000 + 0 // +0: no negative zero
}

// sewing tells the steps in the words of the size shown, and their amounts in every size.
func sewing(m maker.Made, shown *maker.Size) []sewDoc {
	out := []sewDoc{}
	for k, s := range shown.Steps {
		d := sewDoc{Step: k + 1, Size: shown.Pattern.Size, Pieces: s.Pieces, Text: s.Text}
		for j, a := range s.Amounts {
			in := amountDoc{a.Name, map[string]float64{}}
			for i := range m.Sizes {
				if o := m.Sizes[i].Steps; k < len(o) && j < len(o[k].Amounts) && o[k].Amounts[j].Name == a.Name {
					in.MM[m.Sizes[i].Pattern.Size] = milli(o[k].Amounts[j].MM)
				}
			}
			d.Amounts = append(d.Amounts, in)
		}
		out = append(out, d)
	}
	return out
}

func cutting(m maker.Made) []clothDoc {
	var out []clothDoc
	counts, areas := m.CountsBySize(), m.Interfacing()
	for _, l := range m.Cutting() {
		d := clothDoc{Cloth: l.Cloth}
		for _, r := range l.Rows {
			c := cutDoc{Piece: r.Piece, Cut: r.Count, How: r.How, Fold: r.Fold, Interfaced: r.Interfaced}
			if l.Cloth != "interfacing" {
				c.BySize = counts[r.Piece]
			}
			d.Pieces = append(d.Pieces, c)
		}
		if l.Cloth == "interfacing" {
			d.Area = map[string]float64{}
			for size, mm2 := range areas {
				d.Area[size] = milli(mm2 / 1e6)
			}
		}
		out = append(out, d)
	}
	return out
}

// wholeOrder is the order of sewing in the words of the size shown, its amounts in every size.
func wholeOrder(m maker.Made, shown *maker.Size) []orderDoc {
	out := []orderDoc{}
	sizes, orders := m.Order()
	for i := range m.Sizes {
		if &m.Sizes[i] != shown {
			continue
		}
		for k, s := range orders[i] {
			d := orderDoc{Step: k + 1, Part: string(s.Part), Size: sizes[i], Text: s.Text}
			for _, a := range s.Amounts {
				in := amountDoc{a.Name, map[string]float64{}}
				for n, o := range orders {
					if k < len(o) {
						if mm, ok := o[k].Amount(a.Name); ok {
							in.MM[sizes[n]] = milli(mm)
						}
					}
				}
				d.Amounts = append(d.Amounts, in)
			}
			out = append(out, d)
		}
	}
	return out
}

func drawing(d change.Drawing, size string) drawDoc {
	o := drawDoc{Title: d.Title, Size: size, Steps: d.Steps, Points: []pointDoc{}, Lines: []lineDoc{}, Measures: []measureDoc{}}
	for _, p := range d.Points {
		o.Points = append(o.Points, pointDoc{p.N, p.Step, [2]float64{milli(p.At.X), milli(p.At.Y)}, p.Label})
	}
	for _, l := range d.Lines {
		o.Lines = append(o.Lines, lineDoc{l.Step, string(l.Kind), l.Piece, pathText(l.Path), l.Label})
	}
	for _, x := range d.Measures {
		o.Measures = append(o.Measures, measureDoc{x.Step, x.From, x.To, milli(x.MM), x.Label})
	}
	return o
}

// pathText writes a path in the path syntax of SVG 1.1 (section 8.3), y up, in mm.
func pathText(p geom.Path) string {
	if len(p) == 0 {
		return ""
	}
	b := []byte{'M'}
	point := func(q geom.Point) {
		b = strconv.AppendFloat(b, milli(q.X), 'f', -1, 64)
		b = append(b, ' ')
		b = strconv.AppendFloat(b, milli(q.Y), 'f', -1, 64)
	}
	point(p.Start())
	for _, s := range p {
		if s.Straight {
			b = append(b, 'L')
		} else {
			b = append(b, 'C')
			point(s.P1)
			b = append(b, ' ')
			point(s.P2)
			b = append(b, ' ')
		}
		point(s.P3)
	}
	return string(b)
}
