package pattern

import (
	"fmt"
	"math"
	"strconv"
)

// Finished is a measurement of the finished garment: a sum of Terms, measured on the made pattern. A
// block tells its own in its own words; they follow its edges through whatever a style changes.
type Finished struct {
	Name string // "bust"
	Says string // what people read: "Bust, under the arm"
	// Body is the body measurement that it goes round or along; "" stands for the one of the same
	// name, if the chart has it.
	Body  string
	Terms []Term
}

// Term is one length that is measured, Times over: 2 where the piece is one half of two. It is either
// the length of Edges as they are sewn (their darts closed, their gathers drawn up), or the way over a
// Piece from a place to another, or to an edge.
type Term struct {
	Edges []EdgeRef // Against means nothing here
	// Outer: counts only while the edges are the garment's own; when a change sews something to a hem it
	// is no hem any more.
	Outer bool

	Piece string
	// Along goes with the grain, else the way is square to it, as it is on the block.
	Along  bool
	From   Place
	To     Place
	ToEdge string // instead of To

	Times int
}

// Bounds on what a block may ask to be measured.
const (
	MaxFinished = 40
	MaxTerms    = 20
	MaxTimes    = 20
)

// finished checks names and references. pieces is false for a draft, whose edges are known only once it is
// drawn.
func (v *validator) finished(b *Block, pieces bool) {
	if !v.count("/finished", "finished measurements", len(b.Finished), 0, MaxFinished) {
		return
	}
	seen := map[string]bool{}
	for i := range b.Finished {
		f := &b.Finished[i]
		at := Pointer("finished", strconv.Itoa(i))
		v.name(at+"/name", "finished measurement", f.Name)
		v.once(seen, at+"/name", "finished measurement", f.Name)
		v.text(at+"/says", f.Says)
		if f.Says == "" {
			v.add(Fault{Rule: "text", Pointer: at + "/says", Detail: fmt.Sprintf("nothing says what %s is", Quote(f.Name)), Valid: TextRule, Remedy: `say it in words that people read, as in "Bust, under the arm"`})
		}
		if f.Body != "" {
			if _, ok := b.Chart.Body[f.Body]; !ok {
				v.unknown(at+"/body", "body measurement", f.Body, sorted(b.Chart.Body))
			}
		}
		if !v.count(at+"/terms", "terms", len(f.Terms), 1, MaxTerms) {
			continue
		}
		for k := range f.Terms {
			v.term(b, &f.Terms[k], at+Pointer("terms", strconv.Itoa(k)), pieces)
		}
	}
}

func (v *validator) term(b *Block, t *Term, at string, pieces bool) {
	v.count(at+"/times", "times", t.Times, 1, MaxTimes)
	if (len(t.Edges) > 0) == (t.Piece != "") {
		v.add(Fault{Rule: "term", Pointer: at, Detail: "a term is measured in exactly one way", Valid: `"edges", "across" or "along"`, Remedy: "keep one of them"})
		return
	}
	if len(t.Edges) > 0 {
		if v.count(at+"/edges", "edges", len(t.Edges), 1, MaxRefs) && pieces {
			seen := map[string]bool{}
			for k, r := range t.Edges {
				ptr := at + Pointer("edges", strconv.Itoa(k))
				v.edgeThere(b, r.Piece, r.Edge, ptr+"/0", ptr+"/1")
				v.once(seen, ptr, "edge", r.Piece+"."+r.Edge)
			}
		}
		return
	}
	way := "/across"
	if t.Along {
		way = "/along"
	}
	if t.ToEdge != "" && pieces {
		v.edgeThere(b, t.Piece, t.ToEdge, at+way, at+"/to")
	} else if pieces && b.PieceNamed(t.Piece) == nil {
		v.unknown(at+way, "piece", t.Piece, b.pieceNames())
	}
	for _, p := range []struct {
		key string
		pl  Place
	}{{"/from", t.From}, {"/to", t.To}} {
		if p.pl.At != nil {
			v.add(Fault{Rule: "place", Pointer: at + p.key, Detail: "a coordinate is not found again in another size", Valid: "a point, a mark, or a distance along an edge", Remedy: "name the place"})
		}
		if !(p.pl.Along >= 0 && p.pl.Along <= MaxPlaceLength) || math.IsNaN(p.pl.Share) {
			v.number(at+p.key+"/along", "the distance along the edge", p.pl.Along, 0, MaxPlaceLength, "mm")
		}
	}
}

func (v *validator) edgeThere(b *Block, piece, edge, atPiece, atEdge string) {
	p := b.PieceNamed(piece)
	if p == nil {
		v.unknown(atPiece, "piece", piece, b.pieceNames())
	} else if p.EdgeNamed(edge) < 0 {
		v.unknown(atEdge, "edge", edge, p.edgeNames())
	}
}
