package change

func defineLengthen() Definition {
	return Definition{Name: "lengthen", fresh: func() args { return new(lengthenArgs) }}
}

type lengthenArgs struct{}

func (a *lengthenArgs) apply(w *work) error { return nil }
