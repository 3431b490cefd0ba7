package main

import (
	"context"
	"errors"
	"fmt"
	"text/tabwriter"
	"time"

	"sizerun/internal/config"
	"sizerun/internal/shop"
)

type keyCmd struct {
	Add    keyAddCmd    `cmd:"" help:"Make a key for a shop and print it once; the shop is made when it is new."`
	List   keyListCmd   `cmd:"" help:"List a shop's keys, the newest first."`
	Rotate keyRotateCmd `cmd:"" help:"Give a key a new secret and print it once; the old one holds a while longer."`
	Revoke keyRevokeCmd `cmd:"" help:"Revoke a key, for good."`
}

// beside runs f on the store of a service that may be running.
func beside(ctx context.Context, t *terminal, f func(*shop.Service) error) error {
	cfg, log, err := settings(config.Key, t.err)
	if err != nil {
		return err
	}
	h, err := build(ctx, cfg, log, true)
	if err != nil {
		return err
	}
	return errors.Join(f(h.service), h.close())
}

type keyAddCmd struct {
	Shop        string `arg:"" help:"The shop's name."`
	Scope       string `default:"" enum:",read,make,admin,storefront" help:"What the key may do (admin when not given; make for a sandbox): read; make, which also keeps documents and orders; admin, which also looks after keys and webhooks; storefront, which orders what was published."`
	Sandbox     bool   `help:"For trying things out: every sheet says that it is a sample, and the quota is small."`
	Description string `help:"Where the key is used."`
}

// Run makes a key. Only its hash is kept.
func (c *keyAddCmd) Run(ctx context.Context, t *terminal) error {
	scope := shop.Scope(c.Scope)
	if scope == "" {
		if scope = shop.ScopeAdmin; c.Sandbox {
			scope = shop.ScopeMake // the most that a sandbox key may do
		}
	}
	return beside(ctx, t, func(s *shop.Service) error {
		_, secret, err := s.AddKeyFor(ctx, c.Shop, shop.KeyRequest{Scope: scope, Sandbox: c.Sandbox, Description: c.Description})
		if err != nil {
			return err
		}
		_, err = fmt.Fprintln(t.out, secret)
		return err
	})
}

type keyListCmd struct {
	Shop string `arg:"" help:"The shop's name."`
}

// Run lists keys without their secrets, which nobody has.
func (c *keyListCmd) Run(ctx context.Context, t *terminal) error {
	return beside(ctx, t, func(s *shop.Service) error {
		sh, err := s.ShopNamed(ctx, c.Shop)
		if err != nil {
			return err
		}
		tw := tabwriter.NewWriter(t.out, 0, 4, 2, ' ', 0)
		fmt.Fprintln(tw, "key\tscope\tmade\tlast used\tstate\tdescription")
		for cursor, first := "", true; first || cursor != ""; first = false {
			ks, next, err := s.Keys(ctx, sh.ID, cursor, shop.MaxPage)
			if err != nil {
				return err
			}
			for _, k := range ks {
				scope := string(k.Scope)
				if k.Sandbox {
					scope += ", sandbox"
				}
				fmt.Fprintf(tw, "%s\t%s\t%s\t%s\t%s\t%s\n", k.ID, scope, day(k.CreatedAt), day(k.UsedAt), stateOf(k, time.Now()), k.Description)
			}
			cursor = next
		}
		return tw.Flush()
	})
}

func day(t time.Time) string {
	if t.IsZero() {
		return "never"
	}
	return t.UTC().Format("2006-01-02 15:04")
}

func stateOf(k shop.Key, now time.Time) string {
	switch {
	case !k.RevokedAt.IsZero():
		return "revoked " + day(k.RevokedAt)
	case now.Before(k.OldUntil):
		return "holds; the old secret too, until " + day(k.OldUntil)
	}
	return "holds"
}

type keyRotateCmd struct {
	Shop  string        `arg:"" help:"The shop's name."`
	Key   string        `arg:"" help:"The key's id: the part between the two underscores."`
	Grace time.Duration `default:"24h" help:"How long the old secret still holds; 0s ends it."`
}

// Run makes a new secret for a key.
func (c *keyRotateCmd) Run(ctx context.Context, t *terminal) error {
	return beside(ctx, t, func(s *shop.Service) error {
		sh, err := s.ShopNamed(ctx, c.Shop)
		if err != nil {
			return err
		}
		_, secret, err := s.RotateKey(ctx, sh.ID, c.Key, c.Grace)
		if err != nil {
			return err
		}
		_, err = fmt.Fprintln(t.out, secret)
		return err
	})
}

type keyRevokeCmd struct {
	Shop string `arg:"" help:"The shop's name."`
	Key  string `arg:"" help:"The key's id: the part between the two underscores."`
}

// Run revokes a key.
func (c *keyRevokeCmd) Run(ctx context.Context, t *terminal) error {
	return beside(ctx, t, func(s *shop.Service) error {
		sh, err := s.ShopNamed(ctx, c.Shop)
		if err != nil {
			return err
		}
		if err := s.RevokeKey(ctx, sh.ID, c.Key); err != nil {
			return err
		}
		_, err = fmt.Fprintln(t.out, "it holds no longer; processes that run notice within half a minute")
		return err
	})
}

type shopCmd struct {
	Quota shopQuotaCmd `cmd:"" help:"Show, and set, what a shop may have."`
}

type shopQuotaCmd struct {
	Shop       string `arg:"" help:"The shop's name."`
	RunsAtOnce *int64 `help:"Unfinished runs; 0 is any number, here and below."`
	RunsADay   *int64 `help:"Runs that it may order on a day (UTC)."`
	PagesADay  *int64 `help:"Pages that it may have on a day."`
	BytesKept  *int64 `help:"Bytes of files that it may keep."`
	Unset      bool   `help:"What is not given goes back to the settings."`
}

// Run sets what is given and shows what holds.
func (c *shopQuotaCmd) Run(ctx context.Context, t *terminal) error {
	return beside(ctx, t, func(s *shop.Service) error {
		sh, err := s.ShopNamed(ctx, c.Shop)
		if err != nil {
			return err
		}
		set := shop.QuotaSet{RunsAtOnce: c.RunsAtOnce, RunsADay: c.RunsADay, PagesADay: c.PagesADay, BytesKept: c.BytesKept}
		if c.Unset || set != (shop.QuotaSet{}) {
			if err := s.SetQuota(ctx, sh.ID, set, c.Unset); err != nil {
				return err
			}
		}
		u, err := s.Usage(ctx, sh.ID)
		if err != nil {
			return err
		}
		tw := tabwriter.NewWriter(t.out, 0, 4, 2, ' ', 0)
		fmt.Fprintln(tw, "of\tused\tmay have")
		for _, l := range []struct {
			what      string
			used, may int64
		}{{"runs at once", u.Unfinished, u.Quota.RunsAtOnce}, {"runs today", u.Today.Runs, u.Quota.RunsADay}, {"pages today", u.Today.Pages, u.Quota.PagesADay}, {"bytes kept", u.BytesKept, u.Quota.BytesKept}} {
			may := "any number"
			if l.may > 0 {
				may = fmt.Sprint(l.may)
			}
			fmt.Fprintf(tw, "%s\t%d\t%s\n", l.what, l.used, may)
		}
		return tw.Flush()
	})
}
