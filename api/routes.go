package api

import (
	"net/http"

	"github.com/labstack/echo/v4"

	"sizerun/internal/shop"
)

// route is one line of the contract. Paths are the contract's, with :name for {name}.
type route struct {
	method, path string
	handle       echo.HandlerFunc
}

// routes is every route there is; a test compares it with the contract, both ways.
func (a *API) routes() []route {
	get, post := http.MethodGet, http.MethodPost
	return []route{
		{post, "/v1/blocks", a.keyed(a.saveBlock)},
		{get, "/v1/blocks", a.keyed(a.listBlocks)},
		{get, "/v1/blocks/:name", a.keyed(a.getBlock)},
		{post, "/v1/styles", a.keyed(a.saveStyle)},
		{get, "/v1/styles", a.keyed(a.listStyles)},
		{get, "/v1/styles/:name", a.keyed(a.getStyle)},
		{post, "/v1/runs", a.keyed(a.submitRun)},
		{get, "/v1/runs", a.keyed(a.listRuns)},
		{get, "/v1/runs/:id", a.keyed(a.getRun)},
		{post, "/v1/runs/:id/cancel", a.keyed(a.cancelRun)},
		{get, "/v1/runs/:id/files", a.keyed(a.listRunFiles)},
		{get, "/v1/runs/:id/report", a.keyed(a.getRunReport)},
		{get, "/v1/runs/:id/archive", a.keyed(a.getArchive)},
		{post, "/v1/runs/:id/link", a.keyed(a.linkArchive)},
		{get, "/v1/files/:id", a.keyed(a.getFile)},
		{post, "/v1/files/:id/link", a.keyed(a.linkFile)},
		{get, "/d/:id/:name", open(a.getLinked)},
		{post, "/v1/checks", a.keyed(a.check)},
		{post, "/v1/previews", a.keyed(a.preview)},
		{post, "/v1/webhooks", a.keyed(a.addEndpoint)},
		{get, "/v1/webhooks", a.keyed(a.listEndpoints)},
		{get, "/v1/webhooks/:id", a.keyed(a.getEndpoint)},
		{http.MethodPatch, "/v1/webhooks/:id", a.keyed(a.changeEndpoint)},
		{http.MethodDelete, "/v1/webhooks/:id", a.keyed(a.deleteEndpoint)},
		{post, "/v1/webhooks/:id/rotate", a.keyed(a.rotateEndpoint)},
		{post, "/v1/webhooks/:id/test", a.keyed(a.testEndpoint)},
		{get, "/v1/webhooks/:id/deliveries", a.keyed(a.listDeliveries)},
		{post, "/v1/webhooks/:id/deliveries/:event/replay", a.keyed(a.replayDelivery)},
		{get, "/v1/events", a.keyed(a.listEvents)},
		{get, "/v1/changes", a.keyed(a.listChanges)},
		{get, "/v1/changes/:name", a.keyed(a.getChange)},
		{get, "/livez", open(a.livez)},
		{get, "/readyz", open(a.readyz)},
		{get, "/version", open(a.getVersion)},
		{get, "/openapi.json", open(a.getOpenapi)},
		{get, "/docs", open(a.getDocs)},
		{get, "/problems/:type", open(a.getProblemType)},
	}
}

// keyed is a route for shops: it is given the shop that the request's key belongs to.
func (a *API) keyed(h func(*exchange, shop.ShopID) error) echo.HandlerFunc {
	return func(c echo.Context) error {
		x := c.(*exchange)
		if err := a.authenticate(x); err != nil {
			return err
		}
		return h(x, x.shop.ID)
	}
}

// open is a route for anybody.
func open(h func(*exchange) error) echo.HandlerFunc {
	return func(c echo.Context) error { return h(c.(*exchange)) }
}
