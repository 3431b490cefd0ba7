package shop_test

import (
	"context"
	"io"
	"strings"
	"testing"
	"time"

	"sizerun/internal/shop"
)

func (h *house) storefront(key string) context.Context {
	return shop.WithActor(h.ctx, shop.Actor{KeyID: key, Scope: shop.ScopeStorefront})
}

// To a storefront, what others have ordered is not there, in the words for what is nowhere.
func TestAStorefrontSeesNothingThatOthersHaveOrdered(t *testing.T) {
	h := open(t, nil)
	run := h.order(plain)
	h.work()
	file := h.state(run.ID, shop.StateDone).Files[0]
	front := h.storefront("k1")
	for what, ask := range map[string]func(id string) error{
		"run":    func(id string) error { _, err := h.Service.Run(front, h.shop, id); return err },
		"wait":   func(id string) error { _, err := h.WaitRun(front, h.shop, id, time.Second); return err },
		"cancel": func(id string) error { _, err := h.CancelRun(front, h.shop, id); return err },
		"zip":    func(id string) error { _, err := h.Archive(front, h.shop, id); return err },
		"link":   func(id string) error { _, err := h.LinkArchive(front, h.shop, id, time.Hour); return err },
		"file": func(id string) error {
			_, r, err := h.OpenFile(front, h.shop, strings.Replace(id, run.ID, file.ID, 1))
			if err == nil {
				_, _ = io.Copy(io.Discard, r)
			}
			return err
		},
		"file link": func(id string) error {
			_, err := h.LinkFile(front, h.shop, strings.Replace(id, run.ID, file.ID, 1), time.Hour)
			return err
		},
	} {
		theirs, nobodys := h.refused(ask(run.ID), shop.NotFound).Detail, h.refused(ask("run_0"), shop.NotFound).Detail
		theirs = strings.NewReplacer(run.ID, "IT", file.ID, "IT").Replace(theirs)
		if nobodys = strings.ReplaceAll(nobodys, "run_0", "IT"); theirs != nobodys {
			t.Errorf("%s: another's answers %q, and nobody's %q", what, theirs, nobodys)
		}
	}
	h.state(run.ID, shop.StateDone)
}
