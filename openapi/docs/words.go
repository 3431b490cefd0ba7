package docs

import (
	"bytes"
	"encoding/json"
	"html/template"
	"maps"
	"slices"
	"strings"
)

// words turns a description into HTML: paragraphs, lists of lines that begin with "* ", `code` and
// **bold**. Everything else is text.
func words(s string) template.HTML {
	var b strings.Builder
	inList := false
	var para []string
	flush := func() {
		if len(para) == 0 {
			return
		}
		tag := "p"
		if inList {
			tag = "li"
		}
		b.WriteString("<" + tag + ">" + inline(strings.Join(para, " ")) + "</" + tag + ">\n")
		para = nil
	}
	leave := func() {
		flush()
		if inList {
			b.WriteString("</ul>\n")
			inList = false
		}
	}
	for line := range strings.SplitSeq(strings.TrimSpace(s), "\n") {
		line = strings.TrimSpace(line)
		item, ok := strings.CutPrefix(line, "* ")
		switch {
		case line == "":
			leave()
		case ok:
			flush()
			if !inList {
				b.WriteString("<ul>\n")
				inList = true
			}
			para = append(para, item)
		default:
			para = append(para, line)
		}
	}
	leave()
	return template.HTML(b.String()) //nolint:gosec // built of escaped text and the four tags above
}

// inline is the text of one paragraph.
func inline(s string) string {
	var b strings.Builder
	for i, part := range strings.Split(s, "`") {
		if i%2 == 1 {
			b.WriteString("<code>" + template.HTMLEscapeString(part) + "</code>")
			continue
		}
		for j, p := range strings.Split(part, "**") {
			if p = template.HTMLEscapeString(p); j%2 == 1 {
				p = "<strong>" + p + "</strong>"
			}
			b.WriteString(p)
		}
	}
	return b.String()
}

// widest is how much of an example stands on one line.
const widest = 76

// layOut writes JSON for people: what fits on a line stays on it.
func layOut(v any) string {
	var b strings.Builder
	lay(&b, v, "", 0)
	return b.String()
}

func lay(b *strings.Builder, v any, indent string, taken int) {
	short := compact(v)
	if len(indent)+taken+len(short) <= widest {
		b.WriteString(short)
		return
	}
	deeper := indent + "  "
	switch w := v.(type) {
	case map[string]any:
		b.WriteString("{\n")
		for i, k := range slices.Sorted(maps.Keys(w)) {
			if i > 0 {
				b.WriteString(",\n")
			}
			key := compact(k) + ": "
			b.WriteString(deeper + key)
			lay(b, w[k], deeper, len(key))
		}
		b.WriteString("\n" + indent + "}")
	case []any:
		b.WriteString("[\n")
		for i, x := range w {
			if i > 0 {
				b.WriteString(",\n")
			}
			b.WriteString(deeper)
			lay(b, x, deeper, 0)
		}
		b.WriteString("\n" + indent + "]")
	default:
		b.WriteString(short)
	}
}

// compact is JSON on one line, with a space after commas and colons.
func compact(v any) string {
	switch w := v.(type) {
	case map[string]any:
		var parts []string
		for _, k := range slices.Sorted(maps.Keys(w)) {
			parts = append(parts, compact(k)+": "+compact(w[k]))
		}
		if len(parts) == 0 {
			return "{}"
		}
		return "{ " + strings.Join(parts, ", ") + " }"
	case []any:
		parts := make([]string, len(w))
		for i, x := range w {
			parts[i] = compact(x)
		}
		return "[" + strings.Join(parts, ", ") + "]"
	}
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false) // html/template escapes what it shows
	if err := e.Encode(v); err != nil {
		return ""
	}
	return strings.TrimSpace(b.String())
}
