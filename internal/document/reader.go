package document

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"unicode/utf16"
	"unicode/utf8"

	"sizerun/internal/pattern"
)

// kind is what a JSON value is.
type kind byte

const (
	kNull kind = iota
	kBool
	kNumber
	kText
	kList
	kObject
)

func (k kind) String() string {
	return [...]string{"null", "true or false", "a number", "text", "a list", "an object"}[k]
}

// value is one JSON value; from and to are its place in the bytes.
type value struct {
	kind     kind
	yes      bool
	num      float64
	text     string // of kText; of kNumber the literal as written
	list     []value
	members  []member
	from, to int32
}

type member struct {
	name string
	val  value
}

func (v *value) get(name string) *value {
	for i := range v.members {
		if v.members[i].name == name {
			return &v.members[i].val
		}
	}
	return nil
}

// reader reads RFC 8259 JSON and nothing more lenient. encoding/json is not used: it lets
// duplicate and differently-cased names, invalid UTF-8 and lone surrogates through.
type reader struct {
	b      string // the document; text is cloned out of it, number literals are not
	i      int
	lim    Limits
	depth  int
	values int
	path   []token
}

// token is one reference token of the pointer to where the reader is.
type token struct {
	name string
	idx  int // used when name is "" and list is set
	list bool
}

func pointerOf(path []token) string {
	s := make([]string, len(path))
	for i, t := range path {
		s[i] = t.name
		if t.list {
			s[i] = strconv.Itoa(t.idx)
		}
	}
	return pattern.Pointer(s...)
}

// read parses the whole of data.
func read(data []byte, lim Limits) (*value, error) {
	if len(data) > lim.Bytes {
		return nil, pattern.Faults{{Rule: "too_large", Detail: fmt.Sprintf("the document has %d bytes", len(data)),
			Valid: fmt.Sprintf("at most %d bytes", lim.Bytes), Remedy: "split it, or thin out digitised points"}}
	}
	r := &reader{b: string(data), lim: lim}
	if len(data) >= 3 && data[0] == 0xEF && data[1] == 0xBB && data[2] == 0xBF {
		return nil, r.fail("byte_order_mark", "the document begins with a byte order mark", "JSON in UTF-8 without one", "save it without the mark")
	}
	r.space()
	if r.i == len(r.b) {
		return nil, r.fail("empty", "the document is empty", "one JSON object", "send the document as the body")
	}
	var v value
	if err := r.value(&v); err != nil {
		return nil, err
	}
	r.space()
	if r.i < len(r.b) {
		return nil, r.fail("trailing_data", "there is something after the end of the document", "one JSON value and nothing after it", "take out what follows it")
	}
	return &v, nil
}

func (r *reader) fail(rule, detail, valid, remedy string) error {
	line, col := 1, 1
	for _, c := range []byte(r.b[:min(r.i, len(r.b))]) {
		if c == '\n' {
			line, col = line+1, 1
		} else if c&0xC0 != 0x80 {
			col++
		}
	}
	return pattern.Faults{{Rule: rule, Pointer: pointerOf(r.path), Detail: fmt.Sprintf("%s (line %d, column %d)", detail, line, col), Valid: valid, Remedy: remedy}}
}

func (r *reader) space() {
	for r.i < len(r.b) {
		switch r.b[r.i] {
		case ' ', '\t', '\n', '\r':
			r.i++
		default:
			return
		}
	}
}

func (r *reader) here() string {
	if r.i >= len(r.b) {
		return "the end of the document"
	}
	c, n := utf8.DecodeRuneInString(r.b[r.i:])
	if c == utf8.RuneError && n <= 1 {
		return fmt.Sprintf("byte 0x%02X", r.b[r.i])
	}
	return strconv.QuoteRune(c)
}

func (r *reader) value(v *value) error {
	if r.values++; r.values > r.lim.Values {
		return r.fail("too_many_values", fmt.Sprintf("the document has more than %d values", r.lim.Values), fmt.Sprintf("at most %d values", r.lim.Values), "split it, or thin out digitised points")
	}
	v.from = int32(r.i)
	err := r.dispatch(v)
	v.to = int32(r.i)
	return err
}

func (r *reader) dispatch(v *value) error {
	if r.i >= len(r.b) {
		return r.fail("syntax", "the document ends in the middle", "complete JSON", "send all of it")
	}
	switch c := r.b[r.i]; {
	case c == '{':
		return r.object(v)
	case c == '[':
		return r.array(v)
	case c == '"':
		v.kind = kText
		s, err := r.str()
		v.text = s
		return err
	case c == '-' || c >= '0' && c <= '9':
		return r.number(v)
	}
	for _, w := range []struct {
		word string
		v    value
	}{{"true", value{kind: kBool, yes: true}}, {"false", value{kind: kBool}}, {"null", value{kind: kNull}}} {
		if strings.HasPrefix(r.b[r.i:], w.word) {
			from := v.from
			*v = w.v
			v.from = from
			r.i += len(w.word)
			return nil
		}
	}
	return r.fail("syntax", r.here()+" cannot begin a value", "an object, a list, text, a number, true, false or null", "write it as JSON (NaN and Infinity are no numbers there)")
}

func (r *reader) enter() error {
	if r.depth++; r.depth > r.lim.Depth {
		return r.fail("too_deep", fmt.Sprintf("lists and objects are nested more than %d deep", r.lim.Depth), fmt.Sprintf("at most %d deep", r.lim.Depth), "a block is no more than 10 deep; check the program that wrote it")
	}
	return nil
}

func (r *reader) object(v *value) error {
	if err := r.enter(); err != nil {
		return err
	}
	v.kind = kObject
	r.i++
	r.space()
	if r.i < len(r.b) && r.b[r.i] == '}' {
		r.i++
		r.depth--
		return nil
	}
	var seen map[string]string
	for {
		if r.i >= len(r.b) || r.b[r.i] != '"' {
			return r.fail("syntax", r.here()+" where a name should be", "a name in double quotes", "quote names, and put no comma after the last member")
		}
		name, err := r.str()
		if err != nil {
			return err
		}
		r.path = append(r.path, token{name: name})
		fold := strings.ToLower(name)
		if seen == nil {
			seen = make(map[string]string, 8)
		}
		if old, twice := seen[fold]; twice {
			detail := fmt.Sprintf("the name %s comes twice in one object", pattern.Quote(name))
			if old != name {
				detail = fmt.Sprintf("the names %s and %s differ by case only", pattern.Quote(old), pattern.Quote(name))
			}
			return r.fail("duplicate_name", detail, "each name once", "keep one of them, or rename it")
		}
		seen[fold] = name
		r.space()
		if r.i >= len(r.b) || r.b[r.i] != ':' {
			return r.fail("syntax", r.here()+" after a name", "a colon", "put a colon between name and value")
		}
		r.i++
		r.space()
		v.members = append(v.members, member{name: name})
		if err := r.value(&v.members[len(v.members)-1].val); err != nil {
			return err
		}
		r.path = r.path[:len(r.path)-1]
		r.space()
		if r.i < len(r.b) && r.b[r.i] == ',' {
			r.i++
			r.space()
			continue
		}
		if r.i < len(r.b) && r.b[r.i] == '}' {
			r.i++
			r.depth--
			return nil
		}
		return r.fail("syntax", r.here()+" after a member", "a comma or a closing brace", "separate members by commas")
	}
}

func (r *reader) array(v *value) error {
	if err := r.enter(); err != nil {
		return err
	}
	v.kind = kList
	r.i++
	r.space()
	if r.i < len(r.b) && r.b[r.i] == ']' {
		r.i++
		r.depth--
		return nil
	}
	for {
		r.path = append(r.path, token{idx: len(v.list), list: true})
		if v.list == nil {
			v.list = make([]value, 0, 2) // most lists are points
		}
		v.list = append(v.list, value{})
		if err := r.value(&v.list[len(v.list)-1]); err != nil {
			return err
		}
		r.path = r.path[:len(r.path)-1]
		r.space()
		if r.i < len(r.b) && r.b[r.i] == ',' {
			r.i++
			r.space()
			continue
		}
		if r.i < len(r.b) && r.b[r.i] == ']' {
			r.i++
			r.depth--
			return nil
		}
		return r.fail("syntax", r.here()+" after an item", "a comma or a closing bracket", "separate items by commas, with none after the last")
	}
}

func (r *reader) number(v *value) error {
	v.kind = kNumber
	start := r.i
	if r.b[r.i] == '-' {
		r.i++
	}
	digits := func() int {
		n := r.i
		for r.i < len(r.b) && r.b[r.i] >= '0' && r.b[r.i] <= '9' {
			r.i++
		}
		return r.i - n
	}
	bad := func() error {
		return r.fail("syntax", "this is no JSON number", "digits, as in 12, -0.5 or 1e3", "write it without leading zeros or a plus sign, and with digits on both sides of the point")
	}
	lead := r.i
	n := digits()
	if n == 0 || n > 1 && r.b[lead] == '0' {
		return bad()
	}
	if r.i < len(r.b) && r.b[r.i] == '.' {
		r.i++
		if digits() == 0 {
			return bad()
		}
	}
	if r.i < len(r.b) && (r.b[r.i] == 'e' || r.b[r.i] == 'E') {
		r.i++
		if r.i < len(r.b) && (r.b[r.i] == '+' || r.b[r.i] == '-') {
			r.i++
		}
		if digits() == 0 {
			return bad()
		}
	}
	const longest = 40
	if r.i-start > longest {
		return r.fail("number", fmt.Sprintf("a number of %d characters", r.i-start), fmt.Sprintf("at most %d characters", longest), "round it")
	}
	v.text = r.b[start:r.i]
	f, err := strconv.ParseFloat(v.text, 64)
	if err != nil || math.IsInf(f, 0) {
		return r.fail("out_of_range", fmt.Sprintf("the number %s is too large for any length", v.text), "numbers up to 1e308; coordinates "+pattern.CoordRule, "check the value and the unit of the document")
	}
	if f == 0 && v.text[0] == '-' {
		return r.fail("negative_zero", "the number is "+v.text, "0", "write 0; a minus zero hides a sign that was lost")
	}
	v.num = f
	return nil
}

func (r *reader) str() (string, error) {
	r.i++
	start := r.i
	// The plain run first: most text has no escape.
	for r.i < len(r.b) {
		c := r.b[r.i]
		if c == '"' {
			s := strings.Clone(r.b[start:r.i])
			r.i++
			return r.text(s)
		}
		if c == '\\' {
			break
		}
		if c < 0x20 {
			return "", r.control(rune(c))
		}
		if c < utf8.RuneSelf {
			r.i++
			continue
		}
		ch, n := utf8.DecodeRuneInString(r.b[r.i:])
		if ch == utf8.RuneError && n <= 1 {
			return "", r.fail("utf8", fmt.Sprintf("byte 0x%02X is not UTF-8", c), "text in UTF-8", "save the document as UTF-8")
		}
		r.i += n
	}
	out := []byte(r.b[start:min(r.i, len(r.b))])
	for r.i < len(r.b) {
		c := r.b[r.i]
		switch {
		case c == '"':
			r.i++
			return r.text(string(out))
		case c < 0x20:
			return "", r.control(rune(c))
		case c == '\\':
			ch, err := r.escape()
			if err != nil {
				return "", err
			}
			out = utf8.AppendRune(out, ch)
		default:
			ch, n := utf8.DecodeRuneInString(r.b[r.i:])
			if ch == utf8.RuneError && n <= 1 {
				return "", r.fail("utf8", fmt.Sprintf("byte 0x%02X is not UTF-8", c), "text in UTF-8", "save the document as UTF-8")
			}
			out = append(out, r.b[r.i:r.i+n]...)
			r.i += n
		}
	}
	return "", r.fail("syntax", "a text has no closing quote", "text in double quotes", "close it")
}

func (r *reader) text(s string) (string, error) {
	if len(s) > r.lim.Text {
		return "", r.fail("text", fmt.Sprintf("a text of %d bytes", len(s)), fmt.Sprintf("at most %d bytes", r.lim.Text), "shorten it")
	}
	return s, nil
}

func (r *reader) control(c rune) error {
	return r.fail("control_character", fmt.Sprintf("the control character U+%04X stands in a text", c), "text without control characters", "take it out")
}

func (r *reader) escape() (rune, error) {
	bad := func() (rune, error) {
		return 0, r.fail("syntax", "a backslash that begins no escape", `\" \\ \/ \b \f \n \r \t \uXXXX`, "write a backslash as two")
	}
	if r.i+1 >= len(r.b) {
		return bad()
	}
	switch c := r.b[r.i+1]; c {
	case '"', '\\', '/':
		r.i += 2
		return rune(c), nil
	case 'b', 'f', 'n', 'r', 't':
		ch := map[byte]rune{'b': '\b', 'f': '\f', 'n': '\n', 'r': '\r', 't': '\t'}[c]
		r.i += 2
		return ch, nil
	case 'u':
		u, ok := r.hex4(r.i + 2)
		if !ok {
			return bad()
		}
		if u == 0 {
			return 0, r.control(0)
		}
		if !utf16.IsSurrogate(u) {
			r.i += 6
			return u, nil
		}
		if r.i+7 < len(r.b) && r.b[r.i+6] == '\\' && r.b[r.i+7] == 'u' {
			if lo, ok := r.hex4(r.i + 8); ok {
				if ch := utf16.DecodeRune(u, lo); ch != utf8.RuneError {
					r.i += 12
					return ch, nil
				}
			}
		}
		return 0, r.fail("lone_surrogate", fmt.Sprintf("half of a surrogate pair, U+%04X, stands alone", u), "whole characters", "check the program that cut this text")
	}
	return bad()
}

func (r *reader) hex4(at int) (rune, bool) {
	if at+4 > len(r.b) {
		return 0, false
	}
	var u rune
	for _, c := range []byte(r.b[at : at+4]) {
		switch {
		case c >= '0' && c <= '9':
			u = u<<4 | rune(c-'0')
		case c >= 'a' && c <= 'f':
			u = u<<4 | rune(c-'a'+10)
		case c >= 'A' && c <= 'F':
			u = u<<4 | rune(c-'A'+10)
		default:
			return 0, false
		}
	}
	return u, true
}
