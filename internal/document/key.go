package document

// KeyRequest is what a shop asks of a new key.
type KeyRequest struct {
	Scope       string
	Sandbox     bool
	Description string
}

// DecodeKey reads one. The error is pattern.Faults.
func DecodeKey(data []byte, lim Limits) (KeyRequest, error) {
	v, err := read(data, lim)
	if err != nil {
		return KeyRequest{}, err
	}
	d := &decoder{lim: lim, per: 1}
	var r KeyRequest
	d.object(v, []string{"scope"}, []string{"sandbox", "description"})
	r.Scope = d.choice(v, "scope", "read", "make", "admin", "storefront")
	r.Sandbox = d.yes(v, "sandbox")
	d.field(v, "description", func(m *value) { r.Description = d.textValue(m) })
	if len(d.faults) > 0 {
		return KeyRequest{}, d.faults
	}
	return r, nil
}
