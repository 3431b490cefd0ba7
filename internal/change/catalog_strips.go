package change

// stripChanges lists strips, pockets, linings and what is done to whole pieces.
func stripChanges() []Definition {
	return []Definition{defineWaistband(), defineShapedWaistband(), defineCuff(), defineBinding(), defineRuffle(), definePocketPatch(), definePocketInseam(), defineShrinkage(), defineLining()}
}
