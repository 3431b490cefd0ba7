package shop

import (
	"archive/zip"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"hash/crc32"
	"io"
	"strings"
	"time"
)

// IsRunID tells a run's id from a file's.
func IsRunID(id string) bool { return strings.HasPrefix(id, "run_") }

// ArchiveInfo is all files of a run in one zip, before it is written.
type ArchiveInfo struct {
	RunID, Name string
	Tag         string // names the bytes: equal tags are equal archives
	Files       []FileInfo
	made        time.Time
}

// Archive answers the archive of a run of the shop. There is one once the run is over and has files.
func (s *Service) Archive(ctx context.Context, shop ShopID, run string) (ArchiveInfo, error) {
	r, err := s.Run(ctx, shop, run)
	if err != nil {
		return ArchiveInfo{}, err
	}
	if r.State == StateExpired {
		return ArchiveInfo{}, &Error{Kind: NotFound, Detail: "the run has expired, and its files are gone: order it again"}
	}
	if len(r.Files) == 0 {
		return ArchiveInfo{}, &Error{Kind: NotFound, Detail: "the run has no files: it is not made yet, or it could not be made"}
	}
	a := ArchiveInfo{RunID: r.ID, Name: r.Style + ".zip", Files: r.Files, made: r.FinishedAt.UTC()}
	if r.ExternalID != "" {
		a.Name = r.Style + "-" + tame(r.ExternalID) + ".zip"
	}
	h := sha256.New()
	fmt.Fprintf(h, "zip 1\n%d\n", a.made.UnixNano())
	for _, f := range a.Files {
		fmt.Fprintf(h, "%s %d %q\n", f.SHA256, f.Bytes, f.Name)
	}
	a.Tag = hex.EncodeToString(h.Sum(nil))
	return a, nil
}

// tame keeps a shop's own number fit for a file's name.
func tame(s string) string {
	return strings.Map(func(r rune) rune {
		if r >= 'a' && r <= 'z' || r >= 'A' && r <= 'Z' || r >= '0' && r <= '9' || r == '-' {
			return r
		}
		return '_'
	}, s)
}

// WriteArchive writes the archive: the same bytes each time. Files are stored as they are, for patterns
// are compressed already, and with their sums before them, so that a reader that can't go back reads it too.
func (s *Service) WriteArchive(ctx context.Context, a ArchiveInfo, w io.Writer) error {
	z := zip.NewWriter(w)
	for _, f := range a.Files {
		b, err := s.whole(ctx, f)
		if err != nil {
			return err
		}
		h := &zip.FileHeader{Name: f.Name, Method: zip.Store, Modified: a.made, CRC32: crc32.ChecksumIEEE(b),
			CompressedSize64: uint64(len(b)), UncompressedSize64: uint64(len(b))}
		h.SetMode(0o644)
		// CreateRaw takes the header as it is, and Modified is not a part of it.
		h.ModifiedDate, h.ModifiedTime = dosTime(a.made) //nolint:staticcheck // see above
		e, err := z.CreateRaw(h)
		if err != nil {
			return fmt.Errorf("archive of run %s: %w", a.RunID, err)
		}
		if _, err := e.Write(b); err != nil {
			return fmt.Errorf("archive of run %s: %w", a.RunID, err)
		}
	}
	return z.Close()
}

// dosTime is a time as zip has kept it since MS-DOS: two seconds exact, from 1980 on.
func dosTime(t time.Time) (date, clock uint16) {
	if t.Year() < 1980 {
		t = time.Date(1980, 1, 1, 0, 0, 0, 0, time.UTC)
	}
	return uint16(t.Day() + int(t.Month())<<5 + (t.Year()-1980)<<9), uint16(t.Second()/2 + t.Minute()<<5 + t.Hour()<<11)
}

// whole reads all of a file.
func (s *Service) whole(ctx context.Context, f FileInfo) ([]byte, error) {
	r, err := s.content(ctx, f)
	if err != nil {
		return nil, err
	}
	defer func() { _ = r.Close() }() // it was only read
	b := make([]byte, f.Bytes)
	if _, err := io.ReadFull(r, b); err != nil {
		return nil, fmt.Errorf("file %s of run %s: content %s: %w", f.ID, f.RunID, f.SHA256, err)
	}
	return b, nil
}
