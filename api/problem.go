package api

import (
	"encoding/json"
	"net/http"
	"strconv"
	"time"

	"github.com/labstack/echo/v4"

	"sizerun/internal/pattern"
	"sizerun/internal/shop"
)

// kind is a line of the table of problems: what the caller sees, and what its page says.
type kind struct {
	status int // 0: ends a run and answers no request
	title  string
	about  string // what it means and what to do
}

// kinds is the one table of problems. The contract lists the same names; a test compares them.
var kinds = map[string]kind{
	"malformed":              {http.StatusBadRequest, "The request can't be read", "The body is not a JSON document, or it broke off on the way. The errors say where. Mend it and send it again."},
	"invalid_parameter":      {http.StatusBadRequest, "A parameter is not valid", "A parameter in the address, or a header, has a value that can't be used. The errors name it and say what would do."},
	"unauthorized":           {http.StatusUnauthorized, "A valid key is needed", "Send a key of your shop in the Authorization header, as “Bearer szr_…”. A key that was revoked does not come back: ask whoever runs the service for a new one."},
	"forbidden":              {http.StatusForbidden, "This key may not do that", "The key holds, but its scope is another: the detail names the scope that this needs. Use another key of the shop, or have one made with that scope (POST /v1/keys, or “sizerun key add”)."},
	"storage_full":           {http.StatusForbidden, "The shop keeps all that it may", "The shop keeps as many bytes of files as it may (GET /v1/usage). Delete runs whose files nobody needs any more; it is noticed within half a minute. Whoever runs the service can allow more."},
	"link_broken":            {http.StatusForbidden, "The link is not whole", "A link to a download is signed: nothing in it can be changed or left out. It may have been cut off in a mail, or its key was withdrawn. Ask whoever sent it for a new one."},
	"link_expired":           {http.StatusGone, "The link has expired", "A link to a download lives for the time it was made for. Ask whoever sent it for a new one."},
	"not_found":              {http.StatusNotFound, "There is no such thing", "Nothing of that name or id is in your shop, or the path is not one of this service. A thing of another shop is answered in the same way."},
	"method_not_allowed":     {http.StatusMethodNotAllowed, "The path does not know this method", "The Allow header lists the methods that this path knows."},
	"slow_body":              {http.StatusRequestTimeout, "The body did not arrive in time", "The connection was too slow, or it stalled. Send the request again."},
	"conflict":               {http.StatusConflict, "It is at odds with what is there", "Look at what is there now, then decide. When there is a Retry-After, the conflict passes by itself."},
	"external_id_taken":      {http.StatusConflict, "This order number has a run already", "An external_id belongs to one run of the shop. The answer's run says which: fetch that one. For a new order, send a new number."},
	"request_in_progress":    {http.StatusConflict, "The first such request is still under way", "An earlier request with this Idempotency-Key is being admitted. Repeat it after the time in Retry-After; you then get the same run."},
	"precondition_failed":    {http.StatusPreconditionFailed, "The file is another one", "The file does not have an ETag that If-Match asks for. Fetch it anew, from its start."},
	"too_large":              {http.StatusRequestEntityTooLarge, "The request is too large", "The detail tells the bound. Drawings that were digitised can often be thinned out: a point every few millimetres is plenty."},
	"unsupported_media_type": {http.StatusUnsupportedMediaType, "The body is of a kind that is not read here", "Send application/json in UTF-8, not compressed."},
	"range_not_satisfiable":  {http.StatusRequestedRangeNotSatisfiable, "The file has no such part", "The range begins behind the end of the file. Content-Range tells the file's size."},
	"invalid":                {http.StatusUnprocessableEntity, "The document breaks a rule", "The document could be read, but it can't be made as it stands. The errors tell each place, what is wrong there, what would do, and what to change. POST /v1/checks tells the same without ordering anything."},
	"idempotency_key_reused": {http.StatusUnprocessableEntity, "This Idempotency-Key was used with another body", "A key stands for one order: the same key with another body is taken for a mistake. Send a new key with a new order."},
	"too_many":               {http.StatusTooManyRequests, "Too much is asked at once", "This shop, or this address, has to wait for the time in Retry-After. Others are not concerned."},
	"internal":               {http.StatusInternalServerError, "Something went wrong on our side", "It is our fault and not the request's. Tell whoever runs the service the request_id: the log has the cause under it. A request with an Idempotency-Key may be repeated."},
	"unavailable":            {http.StatusServiceUnavailable, "The service can't answer just now", "Something that the service stands on is away, or it is full, or about to restart. Repeat the request after the time in Retry-After."},

	"checks_failed": {0, "The pattern was made, but it would not sew", "At least one check of the report fails, so the run delivers the report and no pattern. The report tells which check, in which size, by how much. Mend the block or the style; or order with \"deliver\": \"anyway\" to see the drawing."},
	"refused":       {0, "The style can't be made", "A step refused the block, the style or a size while it was being made. The errors tell the place and the remedy."},
	"timed_out":     {0, "The run took too long", "The run was stopped after the longest time that one may take, in every try. Order fewer sizes or papers in one run."},
	"gave_up":       {0, "The run broke off", "The run broke off in every try, which is our fault. Order it again; if it happens again, tell whoever runs the service the run's id."},
}

// problem is an answer of 400 and above, on its way out.
type problem struct {
	kind     string
	detail   string
	errors   []errorItem
	retry    time.Duration // 0: the kind's own, where it must tell one
	run      string        // the run that a conflict is with
	scopes   []shop.Scope  // that a key would need one of
	wrongKey bool          // a key was given and does not hold
	cause    error         // for the log
}

func (p *problem) Error() string { return p.kind + ": " + p.detail }

func refusal(kind, detail string) *problem { return &problem{kind: kind, detail: detail} }

func badParameter(name, detail, valid, remedy string) *problem {
	return &problem{kind: "invalid_parameter", detail: name + " is not valid",
		errors: []errorItem{{Parameter: name, Detail: detail, Valid: valid, Remedy: remedy}}}
}

// errorItem is one fault. Exactly one of Pointer and Parameter is told.
type errorItem struct {
	Pointer   *string `json:"pointer,omitempty"`
	Parameter string  `json:"parameter,omitempty"`
	Rule      string  `json:"rule,omitempty"`
	Size      string  `json:"size,omitempty"`
	Piece     string  `json:"piece,omitempty"`
	Edge      string  `json:"edge,omitempty"`
	Detail    string  `json:"detail"`
	Valid     string  `json:"valid,omitempty"`
	Remedy    string  `json:"remedy,omitempty"`
}

// mostErrors bounds a problem; who has more to mend than this mends these first.
const mostErrors = 100

func errorItems(fs pattern.Faults) []errorItem {
	fs = fs[:min(len(fs), mostErrors)]
	out := make([]errorItem, len(fs))
	for i, f := range fs {
		p := f.Pointer
		if p != "" && p[0] != '/' {
			p = "/" + p
		}
		out[i] = errorItem{Pointer: &p, Rule: f.Rule, Size: f.Size, Piece: f.Piece, Edge: f.Edge, Detail: f.Detail, Valid: f.Valid, Remedy: f.Remedy}
		if f.Detail == "" {
			out[i].Detail = "this is not valid"
		}
	}
	return out
}

// problemWire is RFC 9457's object with our members.
type problemWire struct {
	Type      string      `json:"type"`
	Title     string      `json:"title"`
	Status    int         `json:"status,omitempty"`
	Detail    string      `json:"detail"`
	RequestID string      `json:"request_id,omitempty"`
	Errors    []errorItem `json:"errors,omitempty"`
	Run       string      `json:"run,omitempty"`
}

// problemWire is a problem as it is sent.
func (a *API) problemWire(x *exchange, p *problem) problemWire {
	k := kinds[p.kind]
	w := problemWire{Type: a.problemType(p.kind), Title: k.title, Status: k.status, Detail: p.detail, RequestID: x.id, Errors: p.errors}
	if w.Detail == "" {
		w.Detail = k.title
	}
	if p.run != "" {
		w.Run = runURL(p.run)
	}
	return w
}

// write sends a problem.
func (a *API) write(x *exchange, p *problem) {
	k := kinds[p.kind]
	h := x.Response().Header()
	for _, name := range []string{"ETag", "Content-Type", "Content-Disposition", "Accept-Ranges", "Preference-Applied", echo.HeaderContentLength} {
		h.Del(name)
	}
	h.Set("Cache-Control", "no-store")
	retry := p.retry
	switch k.status {
	case http.StatusUnauthorized:
		challenge := `Bearer realm="sizerun"`
		if p.wrongKey {
			challenge += `, error="invalid_token"`
		}
		h.Set("WWW-Authenticate", challenge)
	case http.StatusForbidden:
		if len(p.scopes) > 0 { // RFC 6750, 3.1: the scope that would do
			h.Set("WWW-Authenticate", `Bearer realm="sizerun", error="insufficient_scope", scope="`+string(p.scopes[0])+`"`)
		}
	case http.StatusUnsupportedMediaType:
		h.Set("Accept", "application/json")
		h.Set("Accept-Encoding", "identity")
	case http.StatusTooManyRequests, http.StatusServiceUnavailable:
		if retry <= 0 {
			retry = 5 * time.Second
		}
	}
	if retry > 0 {
		h.Set(echo.HeaderRetryAfter, strconv.Itoa(int(max(1, (retry+time.Second-1)/time.Second))))
	}
	b, err := json.Marshal(a.problemWire(x, p))
	if err == nil {
		err = x.send(k.status, "application/problem+json", append(b, '\n'))
	}
	if err != nil && x.cause == nil {
		x.cause = err
	}
}
