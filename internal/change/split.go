package change

func defineSplit() Definition {
	return Definition{Name: "split", fresh: func() args { return new(splitArgs) }}
}

type splitArgs struct{}

func (a *splitArgs) apply(w *work) error { return nil }
