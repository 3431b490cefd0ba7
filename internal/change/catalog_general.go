package change

// generalChanges lists the changes that any piece can have.
func generalChanges() []Definition {
	return []Definition{defineLengthen(), defineOpening(), defineSplit()}
}
