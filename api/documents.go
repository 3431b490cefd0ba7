package api

import (
	"context"
	"net/http"

	"github.com/labstack/echo/v4"

	"sizerun/internal/shop"
)

func (a *API) saveBlock(x *exchange, s shop.ShopID) error {
	return a.save(x, s, func(ctx context.Context, raw []byte) (documentWire, bool, error) {
		b, created, err := a.svc.SaveBlock(ctx, s, raw)
		return blockWire(b), created, err
	})
}

func (a *API) saveStyle(x *exchange, s shop.ShopID) error {
	return a.save(x, s, func(ctx context.Context, raw []byte) (documentWire, bool, error) {
		st, created, err := a.svc.SaveStyle(ctx, s, raw)
		return styleWire(st), created, err
	})
}

func (a *API) save(x *exchange, s shop.ShopID, keep func(context.Context, []byte) (documentWire, bool, error)) error {
	ctx, raw, done, err := a.receive(x, s)
	if err != nil {
		return err
	}
	defer done()
	w, created, err := keep(ctx, raw)
	if err != nil {
		return err
	}
	x.Response().Header().Set(echo.HeaderLocation, w.URL)
	if created {
		return x.answer(http.StatusCreated, w)
	}
	return x.answer(http.StatusOK, w)
}

func (a *API) listBlocks(x *exchange, s shop.ShopID) error {
	cursor, limit, err := x.page()
	if err != nil {
		return err
	}
	bs, next, err := a.svc.Blocks(x.Request().Context(), s, cursor, limit)
	if err != nil {
		return err
	}
	return x.answer(http.StatusOK, listOf(bs, next, blockWire))
}

func (a *API) listStyles(x *exchange, s shop.ShopID) error {
	cursor, limit, err := x.page()
	if err != nil {
		return err
	}
	ss, next, err := a.svc.Styles(x.Request().Context(), s, cursor, limit)
	if err != nil {
		return err
	}
	return x.answer(http.StatusOK, listOf(ss, next, styleWire))
}

func (a *API) getBlock(x *exchange, s shop.ShopID) error {
	name, err := x.part("name")
	if err != nil {
		return err
	}
	b, raw, err := a.svc.Block(x.Request().Context(), s, name)
	if err != nil {
		return err
	}
	w := blockWire(b)
	w.Document = raw
	return x.answerTagged(w)
}

func (a *API) getStyle(x *exchange, s shop.ShopID) error {
	name, err := x.part("name")
	if err != nil {
		return err
	}
	st, raw, err := a.svc.Style(x.Request().Context(), s, name)
	if err != nil {
		return err
	}
	w := styleWire(st)
	w.Document = raw
	return x.answerTagged(w)
}

func (a *API) check(x *exchange, s shop.ShopID) error {
	ctx, raw, done, err := a.receive(x, s)
	if err != nil {
		return err
	}
	defer done()
	c, err := a.svc.Check(ctx, s, raw)
	if err != nil {
		return err
	}
	answer := map[string]any{"summary": summaryOf(c.Summary), "report": c.Report}
	if e := c.Estimate; e != nil {
		answer["estimate"] = map[string]int{"pages": e.Pages, "bytes": e.Bytes, "points": e.Points}
	}
	return x.answer(http.StatusOK, answer)
}
