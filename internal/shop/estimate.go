package shop

import "context"

// Estimate is what a run would deliver, before it is made.
type Estimate struct {
	Pages, Bytes int // over all files
	Points       int // of all that is drawn
}

// Estimator is a Maker that lays out before it is asked to make: what no paper takes is refused then, by
// the code that would refuse it in the run.
type Estimator interface {
	Estimate(ctx context.Context, m Making) (Estimate, error)
}

// estimate asks the maker; nil when it does not tell.
func (s *Service) estimate(ctx context.Context, m Making) (e *Estimate, err error) {
	maker, ok := s.maker.(Estimator)
	if !ok {
		return nil, nil
	}
	defer func() {
		if v := recover(); v != nil {
			s.log.ErrorContext(ctx, "the maker panicked in an estimate", "panic", v)
			e, err = nil, brokeOff()
		}
	}()
	got, err := maker.Estimate(ctx, m)
	return &got, err
}
