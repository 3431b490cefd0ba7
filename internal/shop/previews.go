package shop

import (
	"context"

	"sizerun/internal/document"
)

// Preview draws the pieces of what Check would judge, as an SVG document.
func (s *Service) Preview(ctx context.Context, shop ShopID, raw []byte) ([]byte, error) {
	const detail = "this can't be drawn as it was sent"
	m, err := s.lookedAt(ctx, shop, raw, document.DecodePreview, detail)
	if err != nil {
		return nil, err
	}
	if err := s.enterCheck(ctx); err != nil {
		return nil, err
	}
	defer s.leaveCheck()
	svg, err := s.preview(ctx, m)
	if err != nil {
		return nil, invalid(err, detail)
	}
	return svg, nil
}

// preview calls the maker and turns a panic into a refusal, as check does.
func (s *Service) preview(ctx context.Context, m Making) (svg []byte, err error) {
	defer func() {
		if v := recover(); v != nil {
			s.log.ErrorContext(ctx, "the maker panicked in a preview", "panic", v)
			err = brokeOff()
		}
	}()
	return s.maker.Preview(ctx, m)
}
