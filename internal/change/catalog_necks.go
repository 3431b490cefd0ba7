package change

// neckChanges lists necklines, facings, collars and button stands.
func neckChanges() []Definition {
	return []Definition{defineNeckline(), defineFacing(), defineStand(), defineBandCollar(), defineFlatCollar(), defineShirtCollar()}
}
