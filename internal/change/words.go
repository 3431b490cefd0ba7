package change

// What is said of every seam in the same words. A seam's allowances fray unless something covers them: those inside a
// band or a facing are covered, those of a garment without a lining are not (common practice).
const (
	// NeatenOpen ends a step that sews a seam whose allowances may show on the inside: after "and".
	NeatenOpen = "neaten the allowances, unless a lining covers them, and press them open"
	// pressOpen ends one whose allowances are covered.
	pressOpen = "press the seams open"
)
