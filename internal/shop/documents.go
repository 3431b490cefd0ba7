package shop

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"

	"sizerun/internal/document"
	"sizerun/internal/pattern"
)

// SaveBlock keeps a block under its name. The same content again changes nothing; other content is
// a new version and becomes the current one. Runs keep the version they were ordered with.
func (s *Service) SaveBlock(ctx context.Context, shop ShopID, raw []byte) (BlockInfo, bool, error) {
	b, err := document.DecodeBlock(raw, s.terms.Documents)
	if err != nil {
		return BlockInfo{}, false, invalid(err, "the block can't be used")
	}
	d, created, err := s.saveDocument(ctx, Document{Shop: shop, Kind: KindBlock, Name: b.Name, Title: b.Title, Raw: raw})
	return blockInfo(DocumentHead{d, len(d.Raw)}), created, err
}

// SaveStyle keeps a style under its name, in the way of SaveBlock. Its block must be there.
func (s *Service) SaveStyle(ctx context.Context, shop ShopID, raw []byte) (StyleInfo, bool, error) {
	st, err := document.DecodeStyle(raw, s.terms.Documents)
	if err != nil {
		return StyleInfo{}, false, invalid(err, "the style can't be used")
	}
	if _, err := s.store.Document(ctx, shop, KindBlock, st.Block, ""); errors.Is(err, ErrAbsent) {
		return StyleInfo{}, false, unknownName("/block", "block", st.Block)
	} else if err != nil {
		return StyleInfo{}, false, err
	}
	d, created, err := s.saveDocument(ctx, Document{Shop: shop, Kind: KindStyle, Name: st.Name, Title: st.Title, Block: st.Block, Raw: raw})
	return styleInfo(DocumentHead{d, len(d.Raw)}), created, err
}

func (s *Service) saveDocument(ctx context.Context, d Document) (Document, bool, error) {
	v, err := versionOf(d.Raw)
	if err != nil {
		return Document{}, false, err
	}
	d.Version, d.SavedAt = v, s.now()
	saved, created, err := s.store.SaveDocument(ctx, d)
	if err == nil {
		did := DidSaveBlock
		if d.Kind == KindStyle {
			did = DidSaveStyle
		}
		s.note(ctx, d.Shop, did, d.Name+" "+d.Version)
	}
	return saved, created, err
}

// versionOf names a document's content: the first 128 bits of the SHA-256 of it without the white
// space between its tokens. Nothing else is normalised: a document that reads differently is a
// different one.
func versionOf(raw []byte) (string, error) {
	var b bytes.Buffer
	if err := json.Compact(&b, raw); err != nil {
		return "", &Error{Kind: Malformed, Detail: "the document is not JSON", Cause: err}
	}
	sum := sha256.Sum256(b.Bytes())
	return hex.EncodeToString(sum[:16]), nil
}

func unknownName(pointer, what, name string) *Error {
	return &Error{Kind: Invalid, Detail: "the document speaks of something that is not there", Faults: pattern.Faults{{
		Rule: "unknown_" + what, Pointer: pointer,
		Detail: "this shop has no " + what + " " + quote(name),
		Remedy: "save the " + what + " first, or mend the name",
	}}}
}

// Block answers the current version of a block, and the document as it was sent.
func (s *Service) Block(ctx context.Context, shop ShopID, name string) (BlockInfo, []byte, error) {
	d, err := s.document(ctx, shop, KindBlock, name)
	return blockInfo(DocumentHead{d, len(d.Raw)}), d.Raw, err
}

// Style answers the current version of a style, and the document as it was sent.
func (s *Service) Style(ctx context.Context, shop ShopID, name string) (StyleInfo, []byte, error) {
	d, err := s.document(ctx, shop, KindStyle, name)
	return styleInfo(DocumentHead{d, len(d.Raw)}), d.Raw, err
}

func (s *Service) document(ctx context.Context, shop ShopID, kind DocumentKind, name string) (Document, error) {
	d, err := s.store.Document(ctx, shop, kind, name, "")
	if errors.Is(err, ErrAbsent) {
		return Document{}, notFound(string(kind), name)
	}
	return d, err
}

// Blocks lists blocks by name. An empty next means that there are no more.
func (s *Service) Blocks(ctx context.Context, shop ShopID, cursor string, limit int) ([]BlockInfo, string, error) {
	ds, next, err := s.listDocuments(ctx, shop, KindBlock, cursor, limit)
	out := make([]BlockInfo, len(ds))
	for i, d := range ds {
		out[i] = blockInfo(d)
	}
	return out, next, err
}

// Styles lists styles by name.
func (s *Service) Styles(ctx context.Context, shop ShopID, cursor string, limit int) ([]StyleInfo, string, error) {
	ds, next, err := s.listDocuments(ctx, shop, KindStyle, cursor, limit)
	out := make([]StyleInfo, len(ds))
	for i, d := range ds {
		out[i] = styleInfo(d)
	}
	return out, next, err
}

func (s *Service) listDocuments(ctx context.Context, shop ShopID, kind DocumentKind, cursor string, limit int) ([]DocumentHead, string, error) {
	limit, err := pageSize(limit)
	if err != nil {
		return nil, "", err
	}
	after := ""
	if cursor != "" {
		p, err := readCursor(string(kind), cursor, 1)
		if err != nil {
			return nil, "", err
		}
		after = p[0]
	}
	ds, err := s.store.ListDocuments(ctx, shop, kind, after, limit+1)
	if err != nil || len(ds) <= limit {
		return ds, "", err
	}
	ds = ds[:limit]
	return ds, cursorOf(string(kind), ds[limit-1].Name), nil
}

func blockInfo(d DocumentHead) BlockInfo {
	return BlockInfo{Name: d.Name, Title: d.Title, Version: d.Version, Bytes: d.Bytes, SavedAt: d.SavedAt}
}

func styleInfo(d DocumentHead) StyleInfo {
	return StyleInfo{Name: d.Name, Title: d.Title, Version: d.Version, Block: d.Block, Bytes: d.Bytes, SavedAt: d.SavedAt}
}
