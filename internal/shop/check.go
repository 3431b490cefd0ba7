package shop

import (
	"context"
	"errors"

	"sizerun/internal/document"
	"sizerun/internal/pattern"
)

// Check tells what a run would find, without making one: the same validator, over documents that
// are sent along or named. A block alone is checked as it is.
func (s *Service) Check(ctx context.Context, shop ShopID, raw []byte) (CheckAnswer, error) {
	const detail = "this can't be checked as it was sent"
	m, err := s.lookedAt(ctx, shop, raw, document.DecodeCheck, detail)
	if err != nil {
		return CheckAnswer{}, err
	}
	if err := s.enterCheck(ctx); err != nil {
		return CheckAnswer{}, err
	}
	defer s.leaveCheck()
	report, sum, err := s.check(ctx, m)
	if err != nil {
		return CheckAnswer{}, invalid(err, detail)
	}
	a := CheckAnswer{Report: report, Summary: sum}
	if m.Style != nil { // a block alone is not ordered
		if a.Estimate, err = s.estimate(ctx, m); err != nil {
			return CheckAnswer{}, invalid(err, detail)
		}
	}
	return a, nil
}

// lookedAt reads a request to look at something without making it, and finds the documents that it names.
func (s *Service) lookedAt(ctx context.Context, shop ShopID, raw []byte, decode func([]byte, document.Limits) (document.CheckRequest, error), detail string) (Making, error) {
	c, err := decode(raw, s.terms.Documents)
	if err != nil {
		return Making{}, invalid(err, detail)
	}
	m := Making{Block: c.BlockRaw, Style: c.StyleRaw,
		Request: document.RunRequest{Style: c.StyleName, Sizes: c.Sizes, Bodies: c.Bodies, Outputs: c.Outputs}}
	blockName, blockPointer := c.BlockName, "/block"
	switch {
	case c.Style != nil:
		m.Request.Style = c.Style.Name
		if blockName == "" && m.Block == nil {
			blockName, blockPointer = c.Style.Block, "/style/block"
		}
	case c.StyleName != "":
		st, err := s.store.Document(ctx, shop, KindStyle, c.StyleName, "")
		if errors.Is(err, ErrAbsent) {
			return Making{}, unknownName("/style", "style", c.StyleName)
		} else if err != nil {
			return Making{}, err
		}
		m.Style = st.Raw
		if blockName == "" && m.Block == nil {
			blockName, blockPointer = st.Block, "/style"
		}
	}
	if m.Block == nil {
		bl, err := s.store.Document(ctx, shop, KindBlock, blockName, "")
		if errors.Is(err, ErrAbsent) {
			return Making{}, unknownName(blockPointer, "block", blockName)
		} else if err != nil {
			return Making{}, err
		}
		m.Block = bl.Raw
	}
	return m, nil
}

// check calls the maker and turns a panic into a refusal: nothing that a stranger sends may end the
// process, and a document that does this would do it in every try of a run.
func (s *Service) check(ctx context.Context, m Making) (report []byte, sum Summary, err error) {
	defer func() {
		if v := recover(); v != nil {
			s.log.ErrorContext(ctx, "the maker panicked in a check", "panic", v)
			err = brokeOff()
		}
	}()
	return s.maker.Check(ctx, m)
}

func brokeOff() pattern.Faults {
	return pattern.Faults{{Rule: "not_makeable", Detail: "the maker broke off over this document", Remedy: "leave out the changes one by one to find which it is, and tell us"}}
}

// Checks run in the request, so that there are bounds on how many at once; others wait their turn.
func (s *Service) enterCheck(ctx context.Context) error {
	select {
	case s.checks <- struct{}{}:
		return nil
	case <-ctx.Done():
		return ctx.Err()
	}
}

func (s *Service) leaveCheck() { <-s.checks }
