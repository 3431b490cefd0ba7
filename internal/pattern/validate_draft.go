package pattern

// draft checks a drafted block as far as names and bounds go. Whether there is such a draft, and what
// it needs, is for the draft to say.
func (v *validator) draft(b *Block) {
	v.name("/draft", "draft", b.Draft.Kind)
	if len(b.Pieces) > 0 || len(b.Seams) > 0 {
		v.add(Fault{Rule: "grade_ways", Pointer: "/draft", Detail: "a block is either drafted or drawn", Valid: `"draft", or "pieces" and "seams"`, Remedy: "keep one of them"})
	}
	if b.Drawn != DrawnSeam || len(b.Included) > 0 {
		v.add(Fault{Rule: "included", Pointer: "/drawn", Detail: "a draft is drawn on its seam lines and includes no allowance", Valid: "seam", Remedy: `leave "drawn" and "included" out; give allowances in the style`})
	}
	for _, w := range []struct {
		key, what string
		m         map[string]float64
	}{{"ease", "ease", b.Draft.Ease}, {"lengths", "length", b.Draft.Lengths}, {"numbers", "number", b.Draft.Numbers}} {
		if !v.count("/"+w.key, w.what+"s", len(w.m), 0, MaxMeasures) {
			continue
		}
		for _, k := range sorted(w.m) {
			ptr := Pointer(w.key, k)
			v.name(ptr, w.what, k)
			v.number(ptr, w.what+" "+k, w.m[k], -MaxBody, MaxBody, "")
		}
	}
}
