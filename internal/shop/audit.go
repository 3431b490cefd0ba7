package shop

import (
	"context"
	"time"
)

// What is noted.
const (
	DidSaveBlock      = "block.saved"
	DidSaveStyle      = "style.saved"
	DidPublish        = "style.published"
	DidWithdraw       = "style.withdrawn"
	DidMakeKey        = "key.made"
	DidRotateKey      = "key.rotated"
	DidRevokeKey      = "key.revoked"
	DidOrder          = "run.ordered"
	DidCancel         = "run.cancelled"
	DidErase          = "run.erased"
	DidAddEndpoint    = "webhook.made"
	DidChangeEndpoint = "webhook.changed"
	DidRotateEndpoint = "webhook.rotated"
	DidDeleteEndpoint = "webhook.deleted"
	DidSetQuota       = "quota.set"
)

// AuditKept is how long what was done is remembered.
const AuditKept = 365 * 24 * time.Hour

func (s *Service) noted(ctx context.Context, shop ShopID, action, subject string) Noted {
	who := ActorOf(ctx)
	return Noted{ID: s.newID("aud"), Shop: shop, At: s.now(), KeyID: who.KeyID, Address: who.Address, Action: action, Subject: subject}
}

// note writes down what was done. It is done by now, so a failure is told to the log, whole, and not
// to the caller.
func (s *Service) note(ctx context.Context, shop ShopID, action, subject string) {
	n := s.noted(ctx, shop, action, subject)
	ctx, stop := context.WithTimeout(context.WithoutCancel(ctx), 5*time.Second)
	defer stop()
	if err := s.store.Note(ctx, n); err != nil {
		s.log.ErrorContext(ctx, "not in the audit log", "shop", string(shop), "key", n.KeyID, "from", n.Address, "action", action, "subject", subject, "error", err)
	}
}

// Audit lists what was done in a shop, the newest first.
func (s *Service) Audit(ctx context.Context, shop ShopID, cursor string, limit int) ([]Noted, string, error) {
	limit, err := pageSize(limit)
	if err != nil {
		return nil, "", err
	}
	before, err := readPlace("audit", cursor)
	if err != nil {
		return nil, "", err
	}
	ns, err := s.store.Noted(ctx, shop, before, limit+1)
	if err != nil || len(ns) <= limit {
		return ns, "", err
	}
	last := ns[limit-1]
	return ns[:limit], placeCursor("audit", last.At, last.ID), nil
}

// forgetOld drops what was counted and noted long ago.
func (s *Service) forgetOld(ctx context.Context, now time.Time) error {
	if _, err := s.store.ForgetDays(ctx, DayName(now.Add(-AuditKept))); err != nil {
		return err
	}
	for {
		const batch = 1000
		if n, err := s.store.ForgetNoted(ctx, now.Add(-AuditKept), batch); err != nil || n < batch {
			return err
		}
	}
}
