package document

import "sizerun/internal/pattern"

// DecodeBatch takes a list of run documents apart, each as it was sent; what they say is not judged. The
// error is pattern.Faults.
func DecodeBatch(data []byte, lim Limits, most int) ([][]byte, error) {
	v, err := read(data, lim)
	if err != nil {
		return nil, err
	}
	d := &decoder{lim: lim, per: 1}
	var out [][]byte
	d.object(v, []string{"runs"}, nil)
	d.field(v, "runs", func(m *value) {
		if m.kind == kList && len(m.list) == 0 {
			d.fail(pattern.Fault{Rule: "count", Detail: "no run is asked for", Valid: "1 or more", Remedy: "put a run request into the list"})
		}
		d.items(m, "runs", most, func(_ int, m *value) {
			if m.kind != kObject {
				d.wrongKind(m, "an object")
				return
			}
			out = append(out, data[m.from:m.to])
		})
	})
	if len(d.faults) > 0 {
		return nil, d.faults
	}
	return out, nil
}
