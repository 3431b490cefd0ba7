package change

// stripChanges lists strips, pockets, linings and what is done to whole pieces.
func stripChanges() []Definition {
	return []Definition{defineWaistband(), defineCuff(), defineBinding(), defineRuffle(), definePocketPatch(), definePocketInseam(), defineShrinkage(), defineLining()}
}
