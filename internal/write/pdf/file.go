package pdf

import (
	"bytes"
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
	"fmt"
	"unicode/utf16"

	"github.com/klauspost/compress/zlib"
)

// level is zlib's usual compromise; higher levels save under two percent and cost several times
// the time.
const level = 6

// file collects the objects of a PDF and where each is found. Objects without a stream go packed
// into an object stream (ISO 32000-1, 7.5.7): a tile's page object is mostly the names of its forms,
// alike on every tile.
type file struct {
	buf    []byte
	where  []place // by object number - 1
	zip    *zlib.Writer
	packed bytes.Buffer

	heads, bodies []byte // the object stream, written at the end
	inside        []int  // the objects in it
}

// place is an entry of the cross-reference stream (7.5.8): the byte where an object begins, or
// the object stream that holds it and its index there.
type place struct {
	kind    byte // 0 not written yet, 1 at a byte, 2 inside an object stream
	at, idx int
}

func (f *file) reset() {
	f.buf = append(f.buf[:0], "%PDF-1.7\n%\xE2\xE3\xCF\xD3\n"...)
	f.where, f.heads, f.bodies, f.inside = f.where[:0], f.heads[:0], f.bodies[:0], f.inside[:0]
}

// reserve gives an object number before the object is written.
func (f *file) reserve() int {
	f.where = append(f.where, place{})
	return len(f.where)
}

func (f *file) begin(id int) {
	f.where[id-1] = place{kind: 1, at: len(f.buf)}
	f.buf = append(appendInt(f.buf, int64(id)), " 0 obj\n"...)
}

func (f *file) end() { f.buf = append(f.buf, "\nendobj\n"...) }

// object writes an object that is no stream.
func (f *file) object(id int, body []byte) {
	f.heads = append(appendInt(f.heads, int64(id)), ' ')
	f.heads = append(appendInt(f.heads, int64(len(f.bodies))), ' ')
	f.bodies = append(append(f.bodies, body...), '\n')
	f.inside = append(f.inside, id)
}

// pack writes the object stream.
func (f *file) pack() error {
	id := f.reserve()
	for i, inner := range f.inside {
		f.where[inner-1] = place{kind: 2, at: id, idx: i}
	}
	dict := fmt.Appendf(nil, "/Type /ObjStm /N %d /First %d", len(f.inside), len(f.heads))
	return f.stream(id, dict, append(f.heads, f.bodies...))
}

// raw writes a stream as it is.
func (f *file) raw(id int, dict, data []byte) { f.put(id, dict, "", data) }

func (f *file) put(id int, dict []byte, filter string, data []byte) {
	f.begin(id)
	f.buf = append(append(append(f.buf, "<<"...), dict...), filter...)
	f.buf = append(appendInt(append(f.buf, " /Length "...), int64(len(data))), ">>\nstream\n"...)
	f.buf = append(append(f.buf, data...), "\nendstream"...)
	f.end()
}

// stream writes data deflated; dict is the inside of the dictionary, without Length and Filter.
func (f *file) stream(id int, dict, data []byte) error {
	z, err := f.deflate(data)
	if err != nil {
		return err
	}
	f.put(id, dict, " /Filter /FlateDecode", z)
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

// finish writes the cross-reference stream. The file identifier is a hash of all that comes before
// it, so equal files and only they have the same.
func (f *file) finish(root, info int) error {
	if err := f.pack(); err != nil {
		return err
	}
	sum := sha256.Sum256(f.buf)
	id := hex.EncodeToString(sum[:16])
	self, start := f.reserve(), len(f.buf)
	f.where[self-1] = place{kind: 1, at: start}
	table := append(make([]byte, 0, 7*(len(f.where)+1)), 0, 0, 0, 0, 0, 0xFF, 0xFF) // object 0 heads the list of free ones
	for _, p := range f.where {
		table = append(table, p.kind)
		table = binary.BigEndian.AppendUint32(table, uint32(p.at))
		table = binary.BigEndian.AppendUint16(table, uint16(p.idx))
	}
	dict := fmt.Appendf(nil, "/Type /XRef /Size %d /W [1 4 2] /Root %d 0 R /Info %d 0 R /ID [<%s> <%s>]", len(f.where)+1, root, info, id, id)
	if err := f.stream(self, dict, table); err != nil {
		return err
	}
	f.buf = fmt.Appendf(f.buf, "startxref\n%d\n%%%%EOF\n", start)
	return nil
}

// textString is a text string object: readable where it is plain ASCII, else UTF-16 with its mark.
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
