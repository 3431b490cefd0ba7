package api

import (
	"crypto/sha256"
	"encoding/hex"
	"net/http"

	"sizerun/internal/shop"
)

// preview answers a POST with a picture. Its ETag tells whether the picture is another one than before; the answer to a
// POST is never left out for it (RFC 9110, 13.1.2).
func (a *API) preview(x *exchange, s shop.ShopID) error {
	ctx, raw, done, err := a.receive(x, s)
	if err != nil {
		return err
	}
	defer done()
	svg, err := a.svc.Preview(ctx, s, raw)
	if err != nil {
		return err
	}
	sum := sha256.Sum256(svg)
	x.Response().Header().Set("ETag", `"`+hex.EncodeToString(sum[:])+`"`)
	return x.send(http.StatusOK, "image/svg+xml", svg)
}
