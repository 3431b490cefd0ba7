package shop_test

import (
	"context"
	"errors"
	"io"
	"testing"
	"time"

	"sizerun/internal/shop"
)

// contents says how many there are in the storage.
func (h *house) contents() int {
	h.Helper()
	n := 0
	h.ok(h.files.Walk(h.ctx, func(string, time.Time) error { n++; return nil }))
	return n
}

func (h *house) retire() {
	h.Helper()
	_, err := h.Retire(h.ctx)
	h.ok(err)
}

// aged is a house whose clock is that of the files, for they are judged by age.
func aged(t *testing.T) *house {
	h := open(t, func(d *shop.Deps) { d.Terms.KeepRuns = 24 * time.Hour })
	h.clock.Pass(time.Since(h.clock.Now()))
	return h
}

func TestARunExpiresAfterItsTimeAndFreesItsFiles(t *testing.T) {
	h := aged(t)
	r := h.order(plain)
	h.work()
	r = h.state(r.ID, shop.StateDone)
	if !r.ExpiresAt.Equal(r.FinishedAt.Add(24 * time.Hour)) {
		t.Errorf("over at %v, it expires at %v", r.FinishedAt, r.ExpiresAt)
	}
	made := h.contents()
	h.clock.Pass(23 * time.Hour)
	h.retire()
	h.state(r.ID, shop.StateDone)
	h.clock.Pass(2 * time.Hour)
	h.retire()
	gone := h.state(r.ID, shop.StateExpired)
	if len(gone.Files) != 0 || gone.Stamp != "" || gone.ExpiresAt.After(h.clock.Now()) {
		t.Errorf("%+v", gone)
	}
	if n := h.contents(); n != made || made == 0 {
		t.Errorf("%d contents of %d, before anybody who looked can have taken them up", n, made)
	}
	h.clock.Pass(time.Hour)
	h.retire()
	if n := h.contents(); n != 0 {
		t.Errorf("%d contents are left", n)
	}
	_, err := h.Archive(h.ctx, h.shop, r.ID)
	h.refused(err, shop.NotFound)
	// The same order again is made anew.
	again := h.order(plain)
	h.work()
	if again = h.state(again.ID, shop.StateDone); len(again.Files) != made || h.maker.Makes.Load() != 2 {
		t.Errorf("%d files, made %d times", len(again.Files), h.maker.Makes.Load())
	}
}

func TestFilesThatAnotherRunHasOutliveADelete(t *testing.T) {
	h := aged(t)
	one, two := h.order(plain), h.order(plain)
	h.work()
	h.state(one.ID, shop.StateDone)
	if _, gone, err := h.DeleteRun(h.ctx, h.shop, one.ID); err != nil || !gone {
		t.Fatalf("%v, %v", gone, err)
	}
	_, err := h.Run(h.ctx, h.shop, one.ID)
	h.refused(err, shop.NotFound)
	h.clock.Pass(time.Hour)
	h.retire()
	for _, f := range h.state(two.ID, shop.StateDone).Files {
		_, rd, err := h.OpenFile(h.ctx, h.shop, f.ID)
		h.ok(err)
		h.ok(rd.Close())
	}
	if _, gone, err := h.DeleteRun(h.ctx, h.shop, two.ID); err != nil || !gone {
		t.Fatalf("%v, %v", gone, err)
	}
	h.clock.Pass(time.Hour)
	h.retire()
	if n := h.contents(); n != 0 {
		t.Errorf("%d contents are left", n)
	}
}

func TestADeleteDoesNotBreakADownload(t *testing.T) {
	h := aged(t)
	r := h.order(plain)
	h.work()
	f := h.state(r.ID, shop.StateDone).Files[0]
	_, rd, err := h.OpenFile(h.ctx, h.shop, f.ID)
	h.ok(err)
	defer rd.Close()
	_, err = io.CopyN(io.Discard, rd, 1)
	h.ok(err)
	if _, gone, err := h.DeleteRun(h.ctx, h.shop, r.ID); err != nil || !gone {
		t.Fatalf("%v, %v", gone, err)
	}
	h.clock.Pass(time.Hour)
	h.retire()
	if n := h.contents(); n != 0 {
		t.Fatalf("%d contents are left", n)
	}
	if n, err := io.Copy(io.Discard, rd); err != nil || n != f.Bytes-1 {
		t.Errorf("%d bytes more of %d, %v", n, f.Bytes, err)
	}
}

func TestARunThatIsBeingMadeIsCancelledAndThenErased(t *testing.T) {
	h := aged(t)
	begun := make(chan struct{})
	h.maker.Before = func(ctx context.Context, _ shop.Making) error {
		close(begun)
		<-ctx.Done()
		return ctx.Err()
	}
	r := h.order(plain)
	_, err := h.Relay(h.ctx)
	h.ok(err)
	performed := make(chan error)
	go func() { performed <- h.Perform(h.ctx, r.ID) }()
	<-begun
	now, gone, err := h.DeleteRun(h.ctx, h.shop, r.ID)
	if err != nil || gone || now.State != shop.StateMaking || !now.CancelAsked {
		t.Fatalf("%+v, %v, %v", now, gone, err)
	}
	h.ok(<-performed)
	if _, err := h.Run(h.ctx, h.shop, r.ID); shop.KindOf(err) != shop.NotFound {
		t.Errorf("after it stopped: %v", err)
	}
	if _, _, err := h.DeleteRun(h.ctx, h.shop, r.ID); !errors.As(err, new(*shop.Error)) {
		t.Errorf("deleted again: %v", err)
	}
}
