package document

import "bytes"

// indent writes JSON over several lines, a blank for each level: what json.Indent makes of it with a
// blank for its indent. The JSON comes from the encoder, so that its grammar need not be checked
// byte by byte again, which takes most of json.Indent's time; texts are copied whole.
func indent(src []byte) []byte {
	out := make([]byte, 0, len(src)*5/4+64)
	level := 0
	line := func() {
		out = append(out, '\n')
		for range level {
			out = append(out, ' ')
		}
	}
	for i := 0; i < len(src); i++ {
		switch c := src[i]; c {
		case '"':
			end := text(src[i:])
			out = append(out, src[i:i+end]...)
			i += end - 1
		case '{', '[':
			out = append(out, c)
			if i+1 < len(src) && (src[i+1] == '}' || src[i+1] == ']') {
				out = append(out, src[i+1])
				i++
				continue
			}
			level++
			line()
		case '}', ']':
			level--
			line()
			out = append(out, c)
		case ',':
			out = append(out, c)
			line()
		case ':':
			out = append(out, c, ' ')
		default:
			out = append(out, c)
		}
	}
	return out
}

// text is the length of the text that src begins with, quotes included.
func text(src []byte) int {
	for i := 1; i < len(src); {
		q := bytes.IndexByte(src[i:], '"')
		if q < 0 {
			break
		}
		i += q
		slashes := 0
		for src[i-1-slashes] == '\\' {
			slashes++
		}
		if i++; slashes%2 == 0 {
			return i
		}
	}
	return len(src)
}
