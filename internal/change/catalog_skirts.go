package change

// skirtChanges lists what a skirt can become.
func skirtChanges() []Definition {
	return []Definition{defineCircleSkirt(), definePanels(), definePleats(), defineSkirtFlare()}
}
