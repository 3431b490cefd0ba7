package document

import "sizerun/internal/pattern"

// EndpointRequest is what a shop says of a webhook endpoint; nil is what it did not say.
type EndpointRequest struct {
	URL, Description *string
	On               *bool
}

// DecodeEndpoint reads one. A new one needs its url; a change needs anything. The error is pattern.Faults.
func DecodeEndpoint(data []byte, lim Limits, isNew bool) (EndpointRequest, error) {
	v, err := read(data, lim)
	if err != nil {
		return EndpointRequest{}, err
	}
	d := &decoder{lim: lim, per: 1}
	var r EndpointRequest
	text := func(name string, to **string) {
		d.field(v, name, func(m *value) {
			s := d.textValue(m)
			*to = &s
		})
	}
	if isNew {
		d.object(v, []string{"url"}, []string{"description"})
	} else {
		d.object(v, nil, []string{"url", "description", "on"})
		d.field(v, "on", func(*value) {
			on := d.yes(v, "on")
			r.On = &on
		})
	}
	text("url", &r.URL)
	text("description", &r.Description)
	if len(d.faults) == 0 && v.kind == kObject && r == (EndpointRequest{}) {
		d.fail(pattern.Fault{Rule: "count", Detail: "nothing is to be changed", Valid: "url, description, on", Remedy: "name what is to be changed"})
	}
	if len(d.faults) > 0 {
		return EndpointRequest{}, d.faults
	}
	return r, nil
}
