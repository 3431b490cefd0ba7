package api

import (
	"net/http"
	"net/url"

	"github.com/labstack/echo/v4"

	"sizerun/internal/shop"
)

func keyURL(id string) string { return "/v1/keys/" + url.PathEscape(id) }

type keyWire struct {
	ID          string  `json:"id"`
	URL         string  `json:"url"`
	Scope       string  `json:"scope"`
	Sandbox     bool    `json:"sandbox"`
	Description string  `json:"description"`
	CreatedAt   *string `json:"created_at"`
	LastUsedAt  *string `json:"last_used_at"`
	OldUntil    *string `json:"old_until"` // until when the secret before the last rotation holds
	RevokedAt   *string `json:"revoked_at"`
	// Key is the whole key, shown once, when its secret is made.
	Key string `json:"key,omitempty"`
}

func keyOf(k shop.Key) keyWire {
	return keyWire{ID: k.ID, URL: keyURL(k.ID), Scope: string(k.Scope), Sandbox: k.Sandbox, Description: k.Description,
		CreatedAt: stamp(k.CreatedAt), LastUsedAt: stamp(k.UsedAt), OldUntil: stamp(k.OldUntil), RevokedAt: stamp(k.RevokedAt)}
}

// showKey answers a key with its secret, which no cache may keep.
func (x *exchange) showKey(status int, k shop.Key, secret string) error {
	w := keyOf(k)
	w.Key = secret
	x.Response().Header().Set("Cache-Control", "no-store")
	return x.answer(status, w)
}

func (a *API) makeKey(x *exchange, s shop.ShopID) error {
	ctx, raw, done, err := a.receive(x, s)
	if err != nil {
		return err
	}
	defer done()
	k, secret, err := a.svc.MakeKey(ctx, s, raw)
	if err != nil {
		return err
	}
	x.Response().Header().Set(echo.HeaderLocation, keyURL(k.ID))
	return x.showKey(http.StatusCreated, k, secret)
}

func (a *API) listKeys(x *exchange, s shop.ShopID) error {
	cursor, limit, err := x.page()
	if err != nil {
		return err
	}
	ks, next, err := a.svc.Keys(x.Request().Context(), s, cursor, limit)
	if err != nil {
		return err
	}
	return x.answer(http.StatusOK, listOf(ks, next, keyOf))
}

func (a *API) getKey(x *exchange, s shop.ShopID) error {
	id, err := x.part("id")
	if err != nil {
		return err
	}
	k, err := a.svc.Key(x.Request().Context(), s, id)
	if err != nil {
		return err
	}
	return x.answer(http.StatusOK, keyOf(k))
}

func (a *API) rotateKey(x *exchange, s shop.ShopID) error {
	id, err := x.part("id")
	if err != nil {
		return err
	}
	grace, err := x.seconds("old_holds", shop.DefaultGrace, 0, shop.MaxGrace)
	if err != nil {
		return err
	}
	k, secret, err := a.svc.RotateKey(x.Request().Context(), s, id, grace)
	if err != nil {
		return err
	}
	return x.showKey(http.StatusOK, k, secret)
}

func (a *API) revokeKey(x *exchange, s shop.ShopID) error {
	id, err := x.part("id")
	if err != nil {
		return err
	}
	if err := a.svc.RevokeKey(x.Request().Context(), s, id); err != nil {
		return err
	}
	return x.NoContent(http.StatusNoContent)
}
