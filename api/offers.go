package api

import (
	"encoding/json"
	"net/http"

	"sizerun/internal/shop"
)

type offerWire struct {
	Style        string          `json:"style"`
	StyleVersion string          `json:"style_version"`
	Block        string          `json:"block"`
	BlockVersion string          `json:"block_version"`
	PublishedAt  *string         `json:"published_at"`
	Offer        json.RawMessage `json:"offer"` // what may be chosen, as it was sent
}

func offerOf(o shop.Offer) offerWire {
	return offerWire{Style: o.Style, StyleVersion: o.StyleVersion, Block: o.Block, BlockVersion: o.BlockVersion, PublishedAt: stamp(o.PublishedAt), Offer: o.Raw}
}

func (a *API) publishStyle(x *exchange, s shop.ShopID) error {
	name, err := x.part("name")
	if err != nil {
		return err
	}
	ctx, raw, done, err := a.receive(x, s)
	if err != nil {
		return err
	}
	defer done()
	o, err := a.svc.PublishStyle(ctx, s, name, raw)
	if err != nil {
		return err
	}
	return x.answer(http.StatusOK, offerOf(o))
}

func (a *API) getOffer(x *exchange, s shop.ShopID) error {
	name, err := x.part("name")
	if err != nil {
		return err
	}
	o, err := a.svc.Published(x.Request().Context(), s, name)
	if err != nil {
		return err
	}
	return x.answer(http.StatusOK, offerOf(o))
}

func (a *API) withdrawStyle(x *exchange, s shop.ShopID) error {
	name, err := x.part("name")
	if err != nil {
		return err
	}
	if err := a.svc.WithdrawStyle(x.Request().Context(), s, name); err != nil {
		return err
	}
	return x.NoContent(http.StatusNoContent)
}
