package pattern

import (
	"fmt"
	"sort"
	"strings"
	"unicode"
	"unicode/utf8"
)

// Bounds on everything that a block or a style may hold. They are far beyond what a trade block
// needs, and low enough that a hostile document is refused before it costs anything.
const (
	MaxCoord       = 10000.0 // mm from the origin: 10 m
	MaxName        = 64      // bytes of a name
	MaxText        = 300     // characters of a title, label or stamp
	MaxSizes       = 60
	MaxPieces      = 100
	MaxEdges       = 200 // of one piece
	MaxPoints      = 500 // named points of one piece
	MaxMarks       = 300 // of one piece
	MaxLines       = 200 // inner lines of one piece
	MaxControls    = 600 // curve or through points of one edge
	MaxPolyline    = 5000
	MaxSegs        = 600 // cubics of one edge after fitting
	MaxSeams       = 500
	MaxRefs        = 100 // edges in one chain of a seam
	MaxMeasures    = 60  // body measurements of a chart
	MaxBody        = 5000.0
	MaxShare       = 20.0
	MaxChanges     = 100
	MaxAllowance   = 300.0
	MaxCut         = 20
	MinEdge        = 0.1  // mm: an edge shorter than this cannot be sewn or seen
	Near           = 0.01 // mm within which places count as the same
	OnOutline      = 0.5  // mm within which a mark given by coordinates counts as on the outline
	FitTolerance   = 0.05 // mm between a dense polyline and the cubics fitted to it
	MaxPlaceLength = 2 * MaxCoord
)

// ValidName reports whether s can name a block, style, piece, point, edge, mark, seam or
// measurement: lower-case letters, digits, "_" and "-", beginning with a letter or digit. There is
// no dot in a name, so that "piece.edge" can be read in one way only.
func ValidName(s string) bool {
	if s == "" || len(s) > MaxName {
		return false
	}
	for i := range len(s) {
		c := s[i]
		switch {
		case c >= 'a' && c <= 'z', c >= '0' && c <= '9':
		case (c == '_' || c == '-') && i > 0:
		default:
			return false
		}
	}
	return true
}

// NameRule is ValidName in words.
const NameRule = `1 to 64 of a-z, 0-9, "_" and "-", beginning with a letter or digit`

// ValidSize reports whether s can name a size or a customer's body: up to 40 printable characters
// without leading, trailing or double spaces. "14", "2XL", "34/36", "16 petite" are sizes.
func ValidSize(s string) bool {
	if s == "" || utf8.RuneCountInString(s) > 40 || strings.TrimSpace(s) != s || strings.Contains(s, "  ") {
		return false
	}
	return ValidText(s)
}

// SizeRule is ValidSize in words.
const SizeRule = "1 to 40 printable characters, no space at either end"

// ValidText reports whether s can stand in a title or label: one line without control characters.
func ValidText(s string) bool {
	if !utf8.ValidString(s) || utf8.RuneCountInString(s) > MaxText {
		return false
	}
	for _, r := range s {
		if unicode.IsControl(r) || r == '\u2028' || r == '\u2029' || r == utf8.RuneError {
			return false
		}
	}
	return true
}

// TextRule is ValidText in words.
const TextRule = "one line of at most 300 characters, no control characters"

// Pointer joins reference tokens to a JSON pointer (RFC 6901).
func Pointer(tokens ...string) string {
	var b strings.Builder
	for _, t := range tokens {
		b.WriteByte('/')
		for i := range len(t) {
			switch t[i] {
			case '~':
				b.WriteString("~0")
			case '/':
				b.WriteString("~1")
			default:
				b.WriteByte(t[i])
			}
		}
	}
	return b.String()
}

// Quote puts a stranger's text between quotes, on one line, cut to a bearable length.
func Quote(s string) string {
	const most = 60
	if utf8.RuneCountInString(s) > most {
		r := []rune(s)
		s = string(r[:most]) + "…"
	}
	return fmt.Sprintf("%q", s)
}

// Suggest tells which of the known names was probably meant; with none near, it lists them, or
// the first few when there are many.
func Suggest(got string, known []string) string {
	if len(known) == 0 {
		return "there is none to choose from"
	}
	list := append([]string(nil), known...)
	sort.Strings(list)
	best, at := 1<<30, ""
	fold := strings.ToLower(got)
	if len(fold) <= 4*MaxName {
		for _, k := range list {
			if d := distance(fold, strings.ToLower(k)); d < best {
				best, at = d, k
			}
		}
		if best <= max(1, len(at)/3) {
			return fmt.Sprintf("did you mean %q?", at)
		}
	}
	const most = 12
	tail := ""
	if len(list) > most {
		tail = fmt.Sprintf(" … (%d in all)", len(list))
		list = list[:most]
	}
	return "use one of " + strings.Join(list, ", ") + tail
}

// Choices lists names for a Fault's Valid, sorted, the first few when there are many.
func Choices(known []string) string {
	list := append([]string(nil), known...)
	sort.Strings(list)
	const most = 24
	if len(list) > most {
		return strings.Join(list[:most], ", ") + fmt.Sprintf(", … (%d in all)", len(list))
	}
	return strings.Join(list, ", ")
}

// distance counts the edits (insert, drop, replace, swap neighbours) from a to b.
func distance(a, b string) int {
	prev2, prev, cur := make([]int, len(b)+1), make([]int, len(b)+1), make([]int, len(b)+1)
	for j := range prev {
		prev[j] = j
	}
	for i := 1; i <= len(a); i++ {
		cur[0] = i
		for j := 1; j <= len(b); j++ {
			c := 1
			if a[i-1] == b[j-1] {
				c = 0
			}
			cur[j] = min(prev[j]+1, cur[j-1]+1, prev[j-1]+c)
			if i > 1 && j > 1 && a[i-1] == b[j-2] && a[i-2] == b[j-1] {
				cur[j] = min(cur[j], prev2[j-2]+1)
			}
		}
		prev2, prev, cur = prev, cur, prev2
	}
	return prev[len(b)]
}
