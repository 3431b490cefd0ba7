package shop

import (
	"context"
	"errors"
	"fmt"
	"maps"
	"slices"

	"sizerun/internal/document"
	"sizerun/internal/pattern"
)

// PublishStyle lets storefronts order a style, as it is now: what is saved later is not sold before it
// is published again. The least and the most of each parameter must be makeable, each with the others
// as they stand in the style.
func (s *Service) PublishStyle(ctx context.Context, shop ShopID, name string, raw []byte) (Offer, error) {
	const detail = "the style can't be published like this"
	d, err := document.DecodeOffer(raw, s.terms.Documents)
	if err != nil {
		return Offer{}, invalid(err, detail)
	}
	st, err := s.document(ctx, shop, KindStyle, name)
	if err != nil {
		return Offer{}, err
	}
	bl, err := s.store.Document(ctx, shop, KindBlock, st.Block, "")
	if err != nil {
		return Offer{}, err
	}
	try := func(under string, chosen ...document.Chosen) error {
		style, err := document.Choose(st.Raw, chosen)
		if err != nil {
			return invalid(pattern.FaultsOf(err).Under(under), detail)
		}
		if err := s.enterCheck(ctx); err != nil {
			return err
		}
		defer s.leaveCheck()
		m := Making{Block: bl.Raw, Style: style, Request: document.RunRequest{Style: st.Name, Sizes: d.Sizes}}
		if _, _, err = s.check(ctx, m); err == nil {
			return nil
		}
		return invalid(err, detail)
	}
	if err := try(""); err != nil {
		return Offer{}, err
	}
	for i, p := range d.Parameters {
		for _, v := range []float64{p.Min, p.Max} {
			if err := try(fmt.Sprintf("/parameters/%d", i), document.Chosen{Change: p.Change, Argument: p.Argument, Value: v}); err != nil {
				return Offer{}, err
			}
		}
	}
	o := Offer{Shop: shop, Style: st.Name, StyleVersion: st.Version, Block: bl.Name, BlockVersion: bl.Version, Raw: raw, PublishedAt: s.now()}
	if err := s.store.Publish(ctx, o); err != nil {
		return Offer{}, err
	}
	s.note(ctx, shop, DidPublish, st.Name+" "+st.Version)
	return o, nil
}

// Published answers what of a style may be ordered, and chosen.
func (s *Service) Published(ctx context.Context, shop ShopID, style string) (Offer, error) {
	o, err := s.store.Offer(ctx, shop, style)
	if errors.Is(err, ErrAbsent) {
		err = notFound("published style", style)
	}
	return o, err
}

// WithdrawStyle ends an offer; what is ordered is made.
func (s *Service) WithdrawStyle(ctx context.Context, shop ShopID, style string) error {
	err := s.store.Withdraw(ctx, shop, style)
	if errors.Is(err, ErrAbsent) {
		return notFound("published style", style)
	}
	if err == nil {
		s.note(ctx, shop, DidWithdraw, style)
	}
	return err
}

// offered holds an order against what was published, and puts what was chosen in its place.
func (s *Service) offered(ctx context.Context, shop ShopID, req *document.RunRequest) (styleVersion, blockVersion string, err error) {
	o, err := s.store.Offer(ctx, shop, req.Style)
	if errors.Is(err, ErrAbsent) {
		return "", "", unpublished(req.Style)
	} else if err != nil {
		return "", "", err
	}
	d, err := document.DecodeOffer(o.Raw, s.terms.Documents)
	if err != nil {
		return "", "", err
	}
	var fs pattern.Faults
	refuse := func(pointer, detail, valid string) {
		fs = append(fs, pattern.Fault{Rule: "not_offered", Pointer: pointer, Detail: detail, Valid: valid, Remedy: "order what is published"})
	}
	if len(req.Bodies) > 0 {
		refuse("/body", "a pattern for a customer's own body is not offered", "sizes by name")
	}
	if req.DeliverAnyway {
		refuse("/deliver", "a pattern whose checks fail is not offered", "\"checked\"")
	}
	if req.Sizes == nil {
		req.Sizes = d.Sizes
	}
	for i, size := range req.Sizes {
		if d.Sizes != nil && !slices.Contains(d.Sizes, size) {
			refuse(fmt.Sprintf("/sizes/%d", i), "the size "+quote(size)+" is not offered", pattern.Choices(d.Sizes))
		}
	}
	for i, out := range req.Outputs {
		if !slices.Contains(d.Papers, out.Paper) {
			refuse(fmt.Sprintf("/outputs/%d/paper", i), "the paper "+quote(out.Paper)+" is not offered", pattern.Choices(d.Papers))
		}
	}
	var names []string
	for _, p := range d.Parameters {
		names = append(names, p.Name)
		v, chosen := req.Parameters[p.Name]
		if !chosen {
			continue // as it stands in the style
		}
		if !(v >= p.Min && v <= p.Max) {
			refuse("/parameters/"+p.Name, fmt.Sprintf("%s is %g", p.Name, v), fmt.Sprintf("%g to %g", p.Min, p.Max))
		}
		req.Chosen = append(req.Chosen, document.Chosen{Change: p.Change, Argument: p.Argument, Value: v})
	}
	for _, name := range slices.Sorted(maps.Keys(req.Parameters)) {
		if !slices.Contains(names, name) {
			refuse("/parameters", "the parameter "+quote(name)+" is not offered", pattern.Choices(names))
		}
	}
	if len(fs) > 0 {
		return "", "", &Error{Kind: Invalid, Detail: "the run can't be made as it was ordered", Faults: fs}
	}
	return o.StyleVersion, o.BlockVersion, nil
}
