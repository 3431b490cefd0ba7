package sheet

import "strings"

// Restamp is d with another stamp, as Layout would have drawn it with that: a stamp takes its own room on page 1 and
// in the foot of each page, whatever it says. It answers false when it can't tell, and then the sheet is laid out
// anew: a stamp of which nothing can be shown, on either side. d itself stays as it is.
func Restamp(d Document, stamp string, m Metrics) (Document, bool) {
	t := newSetter(m)
	if t.say(stamp) == "" {
		return Document{}, false
	}
	out := d
	out.Pages = append([]Page(nil), d.Pages...)
	found := false
	for i := range out.Pages {
		pg := &out.Pages[i]
		copied := false
		for k, it := range pg.Items {
			if it.Text == nil || it.Text.StampRoom == 0 {
				continue
			}
			if !copied { // the items may be anybody's
				pg.Items, copied = append([]Item(nil), pg.Items...), true
			}
			x := *it.Text
			x.S = t.fit(x.Face, x.Size, stamp, x.StampRoom)
			if strings.TrimSpace(x.S) == "" {
				return Document{}, false
			}
			pg.Items[k].Text, found = &x, true
		}
	}
	return out, found
}
