package pattern

import (
	"fmt"
	"strconv"
	"strings"
)

// included checks the allowances that a cut-line block tells of.
func (v *validator) included(b *Block) {
	if b.Drawn == DrawnSeam && len(b.Included) > 0 {
		v.add(Fault{Rule: "included", Pointer: "/included", Detail: "a block drawn on its seam lines includes no allowance", Valid: `only with "drawn": "cut"`,
			Remedy: `write "drawn": "cut", or leave "included" out and give allowances in the style`})
	}
	if b.Drawn == DrawnCut && len(b.Included) == 0 {
		v.add(Fault{Rule: "included", Pointer: "/included", Detail: "a block drawn on its cut lines must tell the allowance that they include", Valid: "0 to 300 mm",
			Remedy: `add "included", for instance "5/8in"`})
	}
	for _, k := range sorted(b.Included) {
		ptr := Pointer("included", k)
		if k == "" {
			ptr = Pointer("included", "*")
		}
		v.number(ptr, "the included allowance", b.Included[k], 0, MaxAllowance, "mm")
		if k == "" {
			continue
		}
		piece, edge, dotted := strings.Cut(k, ".")
		p := b.PieceNamed(piece)
		if p == nil {
			v.unknown(ptr, "piece", piece, b.pieceNames())
		} else if dotted && p.EdgeNamed(edge) < 0 {
			v.unknown(ptr, "edge", edge, p.edgeNames())
		}
	}
}

func (b *Block) pieceNames() []string {
	out := make([]string, len(b.Pieces))
	for i := range b.Pieces {
		out[i] = b.Pieces[i].Name
	}
	return out
}

func (p *BlockPiece) edgeNames() []string {
	out := make([]string, len(p.Outline))
	for i := range p.Outline {
		out[i] = p.Outline[i].Name
	}
	return out
}

func (v *validator) seam(b *Block, i int, seen map[string]bool) {
	s := &b.Seams[i]
	at := Pointer("seams", strconv.Itoa(i))
	v.name(at+"/seam", "seam", s.Name)
	v.once(seen, at+"/seam", "seam", s.Name)
	v.chain(b, s.Sew, at+"/sew")
	v.chain(b, s.To, at+"/to")
	if v.number(at+"/ease/0", "the ease", s.Ease.Min, -MaxAllowance*10, MaxAllowance*10, "mm") && v.number(at+"/ease/1", "the ease", s.Ease.Max, -MaxAllowance*10, MaxAllowance*10, "mm") && s.Ease.Min > s.Ease.Max {
		v.add(Fault{Rule: "out_of_range", Pointer: at + "/ease", Detail: fmt.Sprintf("the ease runs from %g to %g mm", s.Ease.Min, s.Ease.Max), Valid: "least first", Remedy: "exchange the two"})
	}
	v.count(at+"/notches", "pairs of notches", len(s.Notches), 0, MaxMarks)
	for k, pair := range s.Notches {
		for side, chain := range [][]EdgeRef{s.Sew, s.To} {
			ptr := at + Pointer("notches", strconv.Itoa(k), strconv.Itoa(side))
			ref := pair[side]
			p := b.PieceNamed(ref.Piece)
			if p == nil || p.MarkNamed(ref.Mark) < 0 {
				var known []string
				for _, r := range chain {
					if q := b.PieceNamed(r.Piece); q != nil {
						known = append(known, markNames(q.Marks)...)
					}
				}
				v.unknown(ptr, "mark", ref.Mark, known)
			}
		}
	}
}

// chain checks the edges of one side of a seam: each is known and comes once, and each of one
// piece begins where the one before it ends, darts between them counted as closed.
func (v *validator) chain(b *Block, refs []EdgeRef, at string) {
	if !v.count(at, "edges", len(refs), 1, MaxRefs) {
		return
	}
	seen := map[[2]string]bool{}
	sound := true
	for k, r := range refs {
		ptr := at + Pointer(strconv.Itoa(k))
		p := b.PieceNamed(r.Piece)
		if p == nil {
			v.unknown(ptr+"/0", "piece", r.Piece, b.pieceNames())
			sound = false
			continue
		}
		if p.EdgeNamed(r.Edge) < 0 {
			v.unknown(ptr+"/1", "edge", r.Edge, p.edgeNames())
			sound = false
			continue
		}
		key := [2]string{r.Piece, r.Edge}
		if seen[key] {
			v.add(Fault{Rule: "duplicate_name", Pointer: ptr, Piece: r.Piece, Edge: r.Edge, Detail: fmt.Sprintf("edge %q of %q comes twice in this chain", r.Edge, r.Piece), Valid: "each edge once", Remedy: "drop one of them"})
		}
		seen[key] = true
	}
	if !sound {
		return
	}
	for k := 1; k < len(refs); k++ {
		if refs[k].Piece != refs[k-1].Piece {
			continue
		}
		p := b.PieceNamed(refs[k].Piece)
		if !p.follows(refs[k-1], refs[k]) {
			v.add(Fault{Rule: "chain_gap", Pointer: at + Pointer(strconv.Itoa(k)), Piece: p.Name, Edge: refs[k].Edge,
				Detail: fmt.Sprintf("in this chain edge %q does not begin where %q ends", refs[k].Edge, refs[k-1].Edge),
				Valid:  `edges that follow one another; "sew" walks with the outline, "to" against it`,
				Remedy: `reorder the edges, or turn one with {"piece": …, "edge": …, "against": true}`})
		}
	}
}

// follows reports whether walking a ends where walking b begins, passing over nothing but darts.
func (p *BlockPiece) follows(a, b EdgeRef) bool {
	n := len(p.Outline)
	leg := map[string]bool{}
	for _, d := range p.Darts {
		leg[d.First], leg[d.Second] = true, true
	}
	if a.Against != b.Against {
		return walkEnd(p, a) == walkStart(p, b)
	}
	step := 1
	if a.Against {
		step = n - 1
	}
	i, j := p.EdgeNamed(a.Edge), p.EdgeNamed(b.Edge)
	for k := (i + step) % n; k != i; k = (k + step) % n {
		if k == j {
			return true
		}
		if !leg[p.Outline[k].Name] {
			return false
		}
	}
	return false
}

func walkEnd(p *BlockPiece, r EdgeRef) string {
	e := p.Outline[p.EdgeNamed(r.Edge)]
	if r.Against {
		return e.From
	}
	return e.To
}

func walkStart(p *BlockPiece, r EdgeRef) string {
	e := p.Outline[p.EdgeNamed(r.Edge)]
	if r.Against {
		return e.To
	}
	return e.From
}
