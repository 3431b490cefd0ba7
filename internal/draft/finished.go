package draft

import "sizerun/internal/pattern"

// What is measured on the finished garment, told in the edges and places that a draft draws. A waist is
// measured along its seam line with the darts closed, a hip square to the grain from the notch at the
// side, as a tape lies round the body (common practice).

// across is the way square to the grain from a point or mark to an edge.
func across(piece, point, edge string, times int) pattern.Term {
	return pattern.Term{Piece: piece, From: pattern.Place{Point: point}, ToEdge: edge, Times: times}
}

// waistRow goes round a waist of two halves; the names are those of the panels of the front, then of
// the back, each of which ends with a panel called waist_side.
func waistRow(panels ...string) pattern.Finished {
	t := pattern.Term{Times: 2}
	piece := "front"
	for _, p := range panels {
		t.Edges = append(t.Edges, pattern.EdgeRef{Piece: piece, Edge: p})
		if p == "waist_side" {
			piece = "back"
		}
	}
	return pattern.Finished{Name: "waist", Says: "Waist", Body: "waist", Terms: []pattern.Term{t}}
}

func hemRow(says string, times int, pieces ...string) pattern.Finished {
	t := pattern.Term{Outer: true, Times: times}
	for _, p := range pieces {
		t.Edges = append(t.Edges, pattern.EdgeRef{Piece: p, Edge: "hem"})
	}
	return pattern.Finished{Name: "hem", Says: says, Terms: []pattern.Term{t}}
}

// lengthRow goes along the grain from the end of an edge to a hem.
func lengthRow(name, says, piece, edge, end, hem string) pattern.Finished {
	return pattern.Finished{Name: name, Says: says, Terms: []pattern.Term{{Piece: piece, Along: true, From: pattern.Place{Edge: edge, From: end}, ToEdge: hem, Times: 1}}}
}

func armRow() pattern.Term {
	return pattern.Term{Piece: "sleeve", From: pattern.Place{Point: "underarm_back"}, To: pattern.Place{Point: "underarm_front"}, Times: 1}
}

func crownRow() pattern.Finished {
	return pattern.Finished{Name: "sleeve_length", Says: "Sleeve, crown to hem", Terms: []pattern.Term{{Piece: "sleeve", Along: true, From: pattern.Place{Point: "crown"}, ToEdge: "hem", Times: 1}}}
}
