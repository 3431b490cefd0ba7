package pdf

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"unicode/utf16"

	"github.com/klauspost/compress/zlib"
)

// level is zlib's usual compromise; higher levels save under two percent and cost several times
// the time.
const level = 6

// file collects the objects of a PDF and where each begins.
type file struct {
	buf     []byte
	offsets []int // by object number - 1; 0 is not written yet
	zip     *zlib.Writer
	packed  bytes.Buffer
}

func (f *file) reset() {
	f.buf = append(f.buf[:0], "%PDF-1.7\n%\xE2\xE3\xCF\xD3\n"...)
	f.offsets = f.offsets[:0]
}

// reserve gives an object number before the object is written.
func (f *file) reserve() int {
	f.offsets = append(f.offsets, 0)
	return len(f.offsets)
}

func (f *file) begin(id int) {
	f.offsets[id-1] = len(f.buf)
	f.buf = append(appendInt(f.buf, int64(id)), " 0 obj\n"...)
}

func (f *file) end() { f.buf = append(f.buf, "\nendobj\n"...) }

// object writes a whole object.
func (f *file) object(id int, body []byte) {
	f.begin(id)
	f.buf = append(f.buf, body...)
	f.end()
}

// stream writes data deflated; dict is the inside of the dictionary, without Length and Filter.
func (f *file) stream(id int, dict string, data []byte) error {
	z, err := f.deflate(data)
	if err != nil {
		return err
	}
	f.begin(id)
	f.buf = fmt.Appendf(f.buf, "<<%s /Filter /FlateDecode /Length %d>>\nstream\n", dict, len(z))
	f.buf = append(append(f.buf, z...), "\nendstream"...)
	f.end()
	return nil
}

// deflate returns data packed; the answer lives until the next call.
func (f *file) deflate(data []byte) ([]byte, error) {
	f.packed.Reset()
	if f.zip == nil {
		z, err := zlib.NewWriterLevel(&f.packed, level)
		if err != nil {
			return nil, err
		}
		f.zip = z
	} else {
		f.zip.Reset(&f.packed)
	}
	if _, err := f.zip.Write(data); err != nil {
		return nil, err
	}
	if err := f.zip.Close(); err != nil {
		return nil, err
	}
	return f.packed.Bytes(), nil
}

// finish writes the cross-reference table and the trailer. The file identifier is a hash of all
// that comes before it, so equal files and only they have the same.
func (f *file) finish(root, info int) {
	sum := sha256.Sum256(f.buf)
	id := hex.EncodeToString(sum[:16])
	at := len(f.buf)
	f.buf = fmt.Appendf(f.buf, "xref\n0 %d\n0000000000 65535 f \n", len(f.offsets)+1)
	for _, o := range f.offsets {
		f.buf = fmt.Appendf(f.buf, "%010d 00000 n \n", o)
	}
	f.buf = fmt.Appendf(f.buf, "trailer\n<</Size %d /Root %d 0 R /Info %d 0 R /ID [<%s> <%s>]>>\nstartxref\n%d\n%%%%EOF\n",
		len(f.offsets)+1, root, info, id, id, at)
}

// text is a text string object: readable where it is plain ASCII, else UTF-16 with its mark.
func textString(s string) string {
	plain := true
	for i := range len(s) {
		plain = plain && s[i] >= ' ' && s[i] <= '~'
	}
	if plain {
		b := []byte{'('}
		for i := range len(s) {
			if c := s[i]; c == '(' || c == ')' || c == '\\' {
				b = append(b, '\\')
			}
			b = append(b, s[i])
		}
		return string(append(b, ')'))
	}
	b := []byte("<FEFF")
	for _, u := range utf16.Encode([]rune(s)) {
		b = fmt.Appendf(b, "%04X", u)
	}
	return string(append(b, '>'))
}
