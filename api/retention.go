package api

import (
	"net/http"

	"github.com/labstack/echo/v4"

	"sizerun/internal/shop"
)

func (a *API) deleteRun(x *exchange, s shop.ShopID) error {
	id, err := x.part("id")
	if err != nil {
		return err
	}
	r, gone, err := a.svc.DeleteRun(x.Request().Context(), s, id)
	if err != nil {
		return err
	}
	if gone {
		return x.NoContent(http.StatusNoContent)
	}
	x.Response().Header().Set(echo.HeaderRetryAfter, "1")
	return x.answer(http.StatusAccepted, a.run(r))
}
