package api

import (
	"encoding/json"
	"net/http"
	"net/url"

	"github.com/labstack/echo/v4"

	"sizerun/internal/shop"
)

func hookURL(id string) string { return "/v1/webhooks/" + url.PathEscape(id) }

type endpointWire struct {
	ID          string  `json:"id"`
	URL         string  `json:"url"`
	Description string  `json:"description"`
	On          bool    `json:"on"`
	OffAt       *string `json:"off_at"`
	OffWhy      *string `json:"off_why"`
	CreatedAt   *string `json:"created_at"`
	// Secret is shown once, when it is made.
	Secret string `json:"secret,omitempty"`
}

func endpointOf(e shop.Endpoint) endpointWire {
	return endpointWire{ID: e.ID, URL: e.URL, Description: e.Description, On: e.OffAt.IsZero(), OffAt: stamp(e.OffAt), OffWhy: given(e.OffWhy), CreatedAt: stamp(e.CreatedAt)}
}

type eventWire struct {
	ID        string          `json:"id"`
	Type      string          `json:"type"`
	RunID     *string         `json:"run_id"`
	CreatedAt *string         `json:"created_at"`
	Body      json.RawMessage `json:"body,omitempty"` // what is sent to endpoints
}

func eventOf(e shop.Event) eventWire {
	return eventWire{ID: e.ID, Type: e.Type, RunID: given(e.RunID), CreatedAt: stamp(e.CreatedAt)}
}

type deliveryWire struct {
	Event  eventWire `json:"event"`
	State  string    `json:"state"`
	Tries  []tryWire `json:"tries"`
	NextAt *string   `json:"next_at"` // null unless it waits
}

type tryWire struct {
	At     *string `json:"at"`
	Status *int    `json:"status"` // null when there was no answer
	Note   *string `json:"note"`
	TookMS float64 `json:"took_ms"`
}

func deliveryOf(d shop.Delivery) deliveryWire {
	w := deliveryWire{Event: eventOf(d.Event), State: d.State, Tries: make([]tryWire, len(d.Log))}
	if d.State == shop.DeliveryWaiting {
		w.NextAt = stamp(d.NextAt)
	}
	for i, t := range d.Log {
		w.Tries[i] = tryWire{At: stamp(t.At), Note: given(t.Note), TookMS: float64(t.Took.Microseconds()) / 1000}
		if t.Status != 0 {
			w.Tries[i].Status = &t.Status
		}
	}
	return w
}

func (a *API) addEndpoint(x *exchange, s shop.ShopID) error {
	ctx, raw, done, err := a.receive(x, s)
	if err != nil {
		return err
	}
	defer done()
	e, secret, err := a.svc.AddEndpoint(ctx, s, raw)
	if err != nil {
		return err
	}
	w := endpointOf(e)
	w.Secret = secret
	x.Response().Header().Set(echo.HeaderLocation, hookURL(e.ID))
	x.Response().Header().Set("Cache-Control", "no-store")
	return x.answer(http.StatusCreated, w)
}

func (a *API) listEndpoints(x *exchange, s shop.ShopID) error {
	es, err := a.svc.Endpoints(x.Request().Context(), s)
	if err != nil {
		return err
	}
	return x.answer(http.StatusOK, listOf(es, "", endpointOf))
}

func (a *API) getEndpoint(x *exchange, s shop.ShopID) error {
	return a.endpoint(x, func(id string) (shop.Endpoint, error) { return a.svc.Endpoint(x.Request().Context(), s, id) })
}

func (a *API) endpoint(x *exchange, find func(id string) (shop.Endpoint, error)) error {
	id, err := x.part("id")
	if err != nil {
		return err
	}
	e, err := find(id)
	if err != nil {
		return err
	}
	return x.answer(http.StatusOK, endpointOf(e))
}

func (a *API) changeEndpoint(x *exchange, s shop.ShopID) error {
	ctx, raw, done, err := a.receive(x, s)
	if err != nil {
		return err
	}
	defer done()
	return a.endpoint(x, func(id string) (shop.Endpoint, error) { return a.svc.ChangeEndpoint(ctx, s, id, raw) })
}

func (a *API) deleteEndpoint(x *exchange, s shop.ShopID) error {
	id, err := x.part("id")
	if err != nil {
		return err
	}
	if err := a.svc.DeleteEndpoint(x.Request().Context(), s, id); err != nil {
		return err
	}
	return x.NoContent(http.StatusNoContent)
}

func (a *API) rotateEndpoint(x *exchange, s shop.ShopID) error {
	id, err := x.part("id")
	if err != nil {
		return err
	}
	e, secret, err := a.svc.RotateEndpoint(x.Request().Context(), s, id)
	if err != nil {
		return err
	}
	w := endpointOf(e)
	w.Secret = secret
	x.Response().Header().Set("Cache-Control", "no-store")
	return x.answer(http.StatusOK, w)
}

func (a *API) testEndpoint(x *exchange, s shop.ShopID) error {
	id, err := x.part("id")
	if err != nil {
		return err
	}
	e, err := a.svc.TestEndpoint(x.Request().Context(), s, id)
	if err != nil {
		return err
	}
	return x.answer(http.StatusAccepted, eventOf(e))
}

func (a *API) listDeliveries(x *exchange, s shop.ShopID) error {
	id, err := x.part("id")
	if err != nil {
		return err
	}
	cursor, limit, err := x.page()
	if err != nil {
		return err
	}
	ds, next, err := a.svc.Deliveries(x.Request().Context(), s, id, cursor, limit)
	if err != nil {
		return err
	}
	return x.answer(http.StatusOK, listOf(ds, next, deliveryOf))
}

func (a *API) replayDelivery(x *exchange, s shop.ShopID) error {
	id, err := x.part("id")
	if err != nil {
		return err
	}
	event, err := x.part("event")
	if err != nil {
		return err
	}
	if err := a.svc.ReplayDelivery(x.Request().Context(), s, id, event); err != nil {
		return err
	}
	return x.NoContent(http.StatusAccepted)
}

// listEvents tells what there was to tell to whoever has no address to be told at.
func (a *API) listEvents(x *exchange, s shop.ShopID) error {
	cursor, limit, err := x.page()
	if err != nil {
		return err
	}
	es, next, err := a.svc.Events(x.Request().Context(), s, cursor, limit)
	if err != nil {
		return err
	}
	return x.answer(http.StatusOK, listOf(es, next, func(t shop.Told) eventWire {
		w := eventOf(t.Event)
		w.Body = t.Body
		return w
	}))
}
