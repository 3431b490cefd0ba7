package change

// dartChanges lists what becomes of darts, and the style lines that take them in.
func dartChanges() []Definition {
	return []Definition{defineDartMove(), defineDartToGathers(), defineDartToFlare(), definePanel(), defineYoke(), defineDartToTucks()}
}
