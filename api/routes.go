package api

import (
	"net/http"

	"github.com/labstack/echo/v4"

	"sizerun/internal/shop"
)

// route is one line of the contract. Paths are the contract's, with :name for {name}.
type route struct {
	method, path string
	handle       handler
}

// handler is what a route does and who may ask for it.
type handler struct {
	do   echo.HandlerFunc
	need []shop.Scope // a key with any of these; anybody when there are none
}

// routes is every route there is; a test compares it with the contract, both ways.
func (a *API) routes() []route {
	get, post := http.MethodGet, http.MethodPost
	reads, makes, admins := []shop.Scope{shop.ScopeRead}, []shop.Scope{shop.ScopeMake}, []shop.Scope{shop.ScopeAdmin}
	// A storefront orders, and looks at its own orders.
	looks, orders := []shop.Scope{shop.ScopeRead, shop.ScopeStorefront}, []shop.Scope{shop.ScopeMake, shop.ScopeStorefront}
	return []route{
		{post, "/v1/blocks", a.keyed(makes, a.saveBlock)},
		{get, "/v1/blocks", a.keyed(reads, a.listBlocks)},
		{get, "/v1/blocks/:name", a.keyed(reads, a.getBlock)},
		{post, "/v1/styles", a.keyed(makes, a.saveStyle)},
		{get, "/v1/styles", a.keyed(reads, a.listStyles)},
		{get, "/v1/styles/:name", a.keyed(reads, a.getStyle)},
		{post, "/v1/styles/:name/offer", a.keyed(makes, a.publishStyle)},
		{get, "/v1/styles/:name/offer", a.keyed(looks, a.getOffer)},
		{http.MethodDelete, "/v1/styles/:name/offer", a.keyed(makes, a.withdrawStyle)},
		{post, "/v1/runs", a.keyed(orders, a.submitRun)},
		{post, "/v1/runs/batch", a.keyed(orders, a.submitRuns)},
		{get, "/v1/runs", a.keyed(reads, a.listRuns)},
		{get, "/v1/runs/:id", a.keyed(looks, a.getRun)},
		{http.MethodDelete, "/v1/runs/:id", a.keyed(makes, a.deleteRun)},
		{post, "/v1/runs/:id/cancel", a.keyed(orders, a.cancelRun)},
		{get, "/v1/runs/:id/events", a.keyed(looks, a.followRun)},
		{post, "/v1/runs/:id/events/link", a.keyed(looks, a.linkStream)},
		{get, "/v1/runs/:id/files", a.keyed(looks, a.listRunFiles)},
		{get, "/v1/runs/:id/report", a.keyed(looks, a.getRunReport)},
		{get, "/v1/runs/:id/archive", a.keyed(looks, a.getArchive)},
		{post, "/v1/runs/:id/link", a.keyed(looks, a.linkArchive)},
		{get, "/v1/files/:id", a.keyed(looks, a.getFile)},
		{post, "/v1/files/:id/link", a.keyed(looks, a.linkFile)},
		{get, "/d/:id/:name", open(a.getLinked)},
		{get, "/e/:id", open(a.followLinked)},
		{post, "/v1/checks", a.keyed(makes, a.check)},
		{post, "/v1/previews", a.keyed(makes, a.preview)},
		{post, "/v1/webhooks", a.keyed(admins, a.addEndpoint)},
		{get, "/v1/webhooks", a.keyed(admins, a.listEndpoints)},
		{get, "/v1/webhooks/:id", a.keyed(admins, a.getEndpoint)},
		{http.MethodPatch, "/v1/webhooks/:id", a.keyed(admins, a.changeEndpoint)},
		{http.MethodDelete, "/v1/webhooks/:id", a.keyed(admins, a.deleteEndpoint)},
		{post, "/v1/webhooks/:id/rotate", a.keyed(admins, a.rotateEndpoint)},
		{post, "/v1/webhooks/:id/test", a.keyed(admins, a.testEndpoint)},
		{get, "/v1/webhooks/:id/deliveries", a.keyed(admins, a.listDeliveries)},
		{post, "/v1/webhooks/:id/deliveries/:event/replay", a.keyed(admins, a.replayDelivery)},
		{post, "/v1/keys", a.keyed(admins, a.makeKey)},
		{get, "/v1/keys", a.keyed(admins, a.listKeys)},
		{get, "/v1/keys/:id", a.keyed(admins, a.getKey)},
		{post, "/v1/keys/:id/rotate", a.keyed(admins, a.rotateKey)},
		{http.MethodDelete, "/v1/keys/:id", a.keyed(admins, a.revokeKey)},
		{get, "/v1/usage", a.keyed(reads, a.getUsage)},
		{get, "/v1/audit", a.keyed(admins, a.listAudit)},
		{get, "/v1/events", a.keyed(reads, a.listEvents)},
		{get, "/v1/changes", a.keyed(reads, a.listChanges)},
		{get, "/v1/changes/:name", a.keyed(reads, a.getChange)},
		{get, "/livez", open(a.livez)},
		{get, "/readyz", open(a.readyz)},
		{get, "/version", open(a.getVersion)},
		{get, "/openapi.json", open(a.getOpenapi)},
		{get, "/docs", open(a.getDocs)},
		{get, "/problems/:type", open(a.getProblemType)},
	}
}

// keyed is a route for a shop's keys that may do what it needs: it is given the shop.
func (a *API) keyed(need []shop.Scope, h func(*exchange, shop.ShopID) error) handler {
	return handler{need: need, do: func(c echo.Context) error {
		x := c.(*exchange)
		if err := a.authenticate(x); err != nil {
			return err
		}
		if err := x.shop.May(need...); err != nil {
			return err
		}
		r := x.Request()
		x.SetRequest(r.WithContext(shop.WithActor(r.Context(), shop.Actor{KeyID: x.shop.KeyID, Scope: x.shop.Scope, Sandbox: x.shop.Sandbox, Address: x.RealIP()})))
		return h(x, x.shop.ID)
	}}
}

// open is a route for anybody.
func open(h func(*exchange) error) handler {
	return handler{do: func(c echo.Context) error { return h(c.(*exchange)) }}
}
