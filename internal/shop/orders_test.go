package shop_test

import (
	"bytes"
	"errors"
	"io"
	"strings"
	"sync"
	"testing"
	"time"

	"sizerun/internal/pattern"
	"sizerun/internal/shop"
	"sizerun/internal/testkit/shopkit"
)

func TestAKeyOpensItsShopAndNothingElseDoes(t *testing.T) {
	h := open(t, nil)
	secret, err := h.AddKey(h.ctx, "Rookery Lane Patterns")
	h.ok(err)
	s, err := h.Authenticate(h.ctx, secret)
	h.ok(err)
	if s.ID != h.shop || s.Name != "Rookery Lane Patterns" || s.KeyID == "" {
		t.Errorf("%+v", s)
	}
	last := secret[len(secret)-2:]
	for what, wrong := range map[string]string{
		"none": "", "the prefix": "szr_", "cut": secret[:len(secret)-1], "long": secret + "a", "upper case": strings.ToUpper(secret),
		"another secret": secret[:len(secret)-2] + map[bool]string{true: "bb", false: "aa"}[last == "aa"],
		"another id":     "szr_aaaaaaaaaaaaaaaa" + secret[20:], "spaces": strings.Repeat(" ", len(secret)), "NUL": "szr_" + strings.Repeat("\x00", len(secret)-4),
	} {
		_, err := h.Authenticate(h.ctx, wrong)
		if e := h.refused(err, shop.Unauthorized); !strings.Contains(e.Detail, "Authorization") || (len(wrong) > 10 && strings.Contains(e.Detail, wrong)) {
			t.Errorf("%s: %s", what, e.Detail)
		}
	}
	h.ok(h.RevokeKey(h.ctx, h.shop, s.KeyID))
	_, err = h.Authenticate(h.ctx, secret)
	h.refused(err, shop.Unauthorized)
	h.refused(h.RevokeKey(h.ctx, h.newShop("another"), s.KeyID), shop.NotFound)
}

func TestAKeyRevokedElsewhereClosesSoon(t *testing.T) {
	h := open(t, nil)
	secret, err := h.AddKey(h.ctx, "Rookery Lane Patterns")
	h.ok(err)
	s, err := h.Authenticate(h.ctx, secret)
	h.ok(err)
	h.ok(h.store.RevokeKey(h.ctx, h.shop, s.KeyID, h.clock.Now())) // by another process
	h.clock.Pass(31 * time.Second)
	_, err = h.Authenticate(h.ctx, secret)
	h.refused(err, shop.Unauthorized)
}

func TestAShopNeedsAName(t *testing.T) {
	h := open(t, nil)
	for _, name := range []string{"", "  ", "a\nb", strings.Repeat("x", 101), "\xff"} {
		_, err := h.AddKey(h.ctx, name)
		h.refused(err, shop.Invalid)
	}
}

func TestABlockIsItsContentUnderAName(t *testing.T) {
	h := open(t, nil)
	raw := shopkit.Block("wren")
	a, created, err := h.SaveBlock(h.ctx, h.shop, raw)
	h.ok(err)
	if !created || a.Name != "wren" || a.Title != "A plain sleeve" || a.Bytes != len(raw) {
		t.Errorf("%+v, created %v", a, created)
	}
	b, created, err := h.SaveBlock(h.ctx, h.shop, bytes.ReplaceAll(raw, []byte("\n"), []byte("\r\n\t ")))
	if err != nil || created || b.Version != a.Version {
		t.Errorf("with other white space: %+v, created %v, %v", b, created, err)
	}
	c, created, err := h.SaveBlock(h.ctx, h.shop, bytes.ReplaceAll(raw, []byte("300"), []byte("301")))
	if err != nil || !created || c.Version == a.Version {
		t.Errorf("with another measure: %+v, created %v, %v", c, created, err)
	}
	got, doc, err := h.Block(h.ctx, h.shop, "wren")
	if err != nil || got.Version != c.Version || !bytes.Contains(doc, []byte("301")) {
		t.Errorf("the current one is %+v, %v", got, err)
	}
}

func TestWhatTheDocumentRoomRefusesIsToldWithItsPlaces(t *testing.T) {
	h := open(t, nil)
	_, _, err := h.SaveBlock(h.ctx, h.shop, []byte(`{"block": "x"`))
	h.refused(err, shop.Malformed)
	_, _, err = h.SaveBlock(h.ctx, h.shop, []byte(`{"block": "x", "colour": 1}`))
	if e := h.refused(err, shop.Invalid); len(e.Faults) == 0 {
		t.Error("no place is told")
	}
	_, _, err = h.SaveStyle(h.ctx, h.shop, shopkit.Style("s", "nothing"))
	if e := h.refused(err, shop.Invalid); len(e.Faults) != 1 || e.Faults[0].Pointer != "/block" || e.Faults[0].Remedy == "" {
		t.Errorf("%+v", e.Faults)
	}
	_, _, err = h.SaveBlock(h.ctx, h.shop, append(shopkit.Block("x"), make([]byte, 64<<20)...))
	h.refused(err, shop.TooLarge)
}

func TestAnotherShopsThingsAreAbsentInTheSameWords(t *testing.T) {
	h := open(t, nil)
	run := h.order(plain)
	h.work()
	file := h.state(run.ID, shop.StateDone).Files[0]
	other := h.newShop("another")
	for what, ask := range map[string]func(s shop.ShopID, id string) error{
		"run":    func(s shop.ShopID, id string) error { _, err := h.Run(h.ctx, s, id); return err },
		"wait":   func(s shop.ShopID, id string) error { _, err := h.WaitRun(h.ctx, s, id, time.Second); return err },
		"cancel": func(s shop.ShopID, id string) error { _, err := h.CancelRun(h.ctx, s, id); return err },
		"files":  func(s shop.ShopID, id string) error { _, err := h.RunFiles(h.ctx, s, id); return err },
	} {
		theirs, unknown := ask(other, run.ID), ask(h.shop, "run_unknown")
		h.refused(theirs, shop.NotFound)
		if strings.ReplaceAll(theirs.Error(), run.ID, "run_unknown") != unknown.Error() {
			t.Errorf("%s: %q and %q", what, theirs, unknown)
		}
	}
	_, _, err := h.OpenFile(h.ctx, other, file.ID)
	h.refused(err, shop.NotFound)
	_, _, err = h.Style(h.ctx, other, "sleeve")
	h.refused(err, shop.NotFound)
	if rs, _, err := h.Runs(h.ctx, other, "", 0); err != nil || len(rs) != 0 {
		t.Errorf("the other shop lists %d runs, %v", len(rs), err)
	}
}

func TestWhatCanBeRefusedIsRefusedBeforeItIsQueued(t *testing.T) {
	h := open(t, nil)
	for body, pointer := range map[string]string{
		`{"style": "nothing"}`:                              "/style",
		`{"style": "sleeve", "sizes": ["8", "9"]}`:          "/sizes/1",
		`{"style": "sleeve", "sises": "all"}`:               "/sises",
		`{"style": "sleeve", "outputs": [{"paper": "B9"}]}`: "/outputs/0/paper",
	} {
		_, _, err := h.SubmitRun(h.ctx, h.shop, []byte(body), shop.IdempotencyKey{})
		e := h.refused(err, shop.Invalid)
		if len(e.Faults) == 0 || e.Faults[0].Pointer != pointer || e.Faults[0].Remedy == "" {
			t.Errorf("%s: %+v", body, e.Faults)
		}
	}
	if n, err := h.Relay(h.ctx); err != nil || n != 0 {
		t.Errorf("%d were queued, %v", n, err)
	}
}

func TestAMakerThatPanicsOverARequestIsARefusal(t *testing.T) {
	h := open(t, func(d *shop.Deps) { d.Maker = panicky{d.Maker} })
	_, _, err := h.SubmitRun(h.ctx, h.shop, []byte(plain), shop.IdempotencyKey{})
	h.refused(err, shop.Invalid)
	_, err = h.Check(h.ctx, h.shop, []byte(`{"style": "sleeve"}`))
	h.refused(err, shop.Invalid)
}

func TestARunIsMadeAndItsFilesComeBack(t *testing.T) {
	h := open(t, nil)
	r := h.order(plain)
	if r.State != shop.StateQueued || len(r.Sizes) != 3 || r.Style != "sleeve" || r.Block != "plain" || r.Stamp != "order 1001" {
		t.Errorf("%+v", r)
	}
	h.work()
	r = h.state(r.ID, shop.StateDone)
	if len(r.Files) != 3 || r.Files[0].Paper != "A4" || r.Files[1].Paper != "A0" || r.Files[2].Name != shop.ReportName {
		t.Fatalf("%+v", r.Files)
	}
	if r.Report == nil || r.Report.Pass != 3 || r.StartedAt.IsZero() || r.FinishedAt.Before(r.StartedAt) || r.Progress.Done != 3 {
		t.Errorf("%+v", r)
	}
	for _, f := range r.Files {
		info, rd, err := h.OpenFile(h.ctx, h.shop, f.ID)
		h.ok(err)
		b, err := io.ReadAll(rd)
		h.ok(errors.Join(err, rd.Close()))
		if info != f || int64(len(b)) != f.Bytes || (f.Paper != "" && !bytes.HasPrefix(b, []byte("%PDF"))) {
			t.Errorf("%s: %d bytes, %+v", f.Name, len(b), info)
		}
	}
}

func TestTheSameRunAgainReusesFilesAndMakesNothing(t *testing.T) {
	h := open(t, nil)
	first := h.order(plain)
	h.work()
	second := h.order(strings.Replace(plain, "{", `{"external_id": "other", `, 1))
	h.work()
	a, b := h.state(first.ID, shop.StateDone), h.state(second.ID, shop.StateDone)
	if n := h.maker.Makes.Load(); n != 1 {
		t.Errorf("made %d times", n)
	}
	for i := range a.Files {
		if a.Files[i].SHA256 != b.Files[i].SHA256 || a.Files[i].ID == b.Files[i].ID || b.Files[i].RunID != b.ID {
			t.Errorf("%+v and %+v", a.Files[i], b.Files[i])
		}
	}
	for what, body := range map[string]string{
		"another buyer": strings.Replace(plain, "1001", "1002", 1),
		"fewer sizes":   strings.Replace(plain, `"all"`, `["8"]`, 1),
	} {
		before := h.maker.Makes.Load()
		h.order(body)
		h.work()
		if h.maker.Makes.Load() != before+1 {
			t.Errorf("%s: not made anew", what)
		}
	}
	before := h.maker.Makes.Load()
	h.maker.Engine = "test-2"
	h.order(plain)
	h.work()
	if h.maker.Makes.Load() != before+1 {
		t.Error("a new engine made nothing")
	}
}

func TestFilesThatAreGoneAreMadeAgain(t *testing.T) {
	h := open(t, nil)
	first := h.order(plain)
	h.work()
	h.ok(h.files.Delete(h.ctx, h.state(first.ID, shop.StateDone).Files[0].SHA256, time.Now().Add(time.Hour)))
	second := h.order(plain)
	h.work()
	if f := h.state(second.ID, shop.StateDone).Files[0]; h.maker.Makes.Load() != 2 {
		t.Errorf("not made again: %+v", f)
	}
}

func TestARunKeepsTheVersionsItWasOrderedWith(t *testing.T) {
	h := open(t, nil)
	r := h.order(plain)
	_, _, err := h.SaveBlock(h.ctx, h.shop, bytes.ReplaceAll(shopkit.Block("plain"), []byte(`"8", "10", "12"`), []byte(`"8", "10", "14"`)))
	h.ok(err)
	h.work()
	if got := h.state(r.ID, shop.StateDone); strings.Join(got.Report.Sizes, " ") != "8 10 12" {
		t.Errorf("made in %v", got.Report.Sizes)
	}
	if next := h.order(plain); strings.Join(next.Sizes, " ") != "8 10 14" || next.BlockVersion == r.BlockVersion {
		t.Errorf("the next is in %v", next.Sizes)
	}
}

func TestAPatternThatDoesNotSewIsNotDeliveredUnlessAskedFor(t *testing.T) {
	h := open(t, nil)
	h.maker.FailChecks.Store(true)
	r := h.order(plain)
	h.work()
	r = h.state(r.ID, shop.StateFailed)
	if r.Problem == nil || r.Problem.Rule != shop.ProblemChecks || len(r.Files) != 1 || r.Files[0].Name != shop.ReportName || r.Report.Fail != 3 {
		t.Errorf("%+v, %+v", r.Problem, r.Files)
	}
	anyway := h.order(strings.Replace(plain, "{", `{"deliver": "anyway", `, 1))
	h.work()
	if r := h.state(anyway.ID, shop.StateDone); len(r.Files) != 3 || r.Report.Fail != 3 || r.Problem != nil {
		t.Errorf("%+v", r)
	}
}

func TestAnIdempotencyKeyMakesOneRunOfFifty(t *testing.T) {
	h := open(t, nil)
	key := shop.IdempotencyKey{Key: "order-1001", Scope: "POST /v1/runs"}
	var mu sync.Mutex
	ids := map[string]bool{}
	var fresh, replayed, early int
	var wg sync.WaitGroup
	for range 50 {
		wg.Go(func() {
			r, again, err := h.SubmitRun(h.ctx, h.shop, []byte(plain), key)
			mu.Lock()
			defer mu.Unlock()
			switch {
			case shop.KindOf(err) == shop.Conflict:
				early++ // the first is still being admitted
			case err != nil:
				t.Error(err)
			case again:
				replayed++
				ids[r.ID] = true
			default:
				fresh++
				ids[r.ID] = true
			}
		})
	}
	wg.Wait()
	if fresh != 1 || len(ids) != 1 {
		t.Errorf("%d fresh, %d replayed, %d too early, %d runs", fresh, replayed, early, len(ids))
	}
	_, again, err := h.SubmitRun(h.ctx, h.shop, []byte(plain), key)
	if err != nil || !again {
		t.Errorf("later: replayed %v, %v", again, err)
	}
	_, _, err = h.SubmitRun(h.ctx, h.shop, []byte(plain+" "), key)
	h.refused(err, shop.Invalid)
	for _, bad := range []string{"a b", "ä", "\n", strings.Repeat("x", 256)} {
		_, _, err = h.SubmitRun(h.ctx, h.shop, []byte(plain), shop.IdempotencyKey{Key: bad})
		h.refused(err, shop.Malformed)
	}
	h.clock.Pass(shop.IdempotencyKept)
	if _, again, err = h.SubmitRun(h.ctx, h.shop, []byte(plain), key); err != nil || again {
		t.Errorf("a day later: replayed %v, %v", again, err)
	}
}

func TestARefusalDoesNotUseUpAnIdempotencyKey(t *testing.T) {
	h := open(t, nil)
	key := shop.IdempotencyKey{Key: "k"}
	late := []byte(`{"style": "late"}`)
	_, _, err := h.SubmitRun(h.ctx, h.shop, late, key)
	h.refused(err, shop.Invalid)
	_, _, err = h.SaveStyle(h.ctx, h.shop, shopkit.Style("late", "plain"))
	h.ok(err)
	_, again, err := h.SubmitRun(h.ctx, h.shop, late, key)
	if err != nil || again {
		t.Errorf("replayed %v, %v", again, err)
	}
}

func TestAnExternalIDIsOrderedOnce(t *testing.T) {
	h := open(t, nil)
	body := `{"style": "sleeve", "external_id": "1001"}`
	r := h.order(body)
	_, _, err := h.SubmitRun(h.ctx, h.shop, []byte(body), shop.IdempotencyKey{})
	if e := h.refused(err, shop.Conflict); e.RunID != r.ID {
		t.Errorf("%+v", e)
	}
}

func TestAShopThatOrdersTooMuchIsToldToWait(t *testing.T) {
	h := open(t, func(d *shop.Deps) { d.Terms.Pending = 2 })
	h.order(plain)
	h.order(plain)
	_, _, err := h.SubmitRun(h.ctx, h.shop, []byte(plain), shop.IdempotencyKey{})
	if e := h.refused(err, shop.TooMany); e.RetryAfter <= 0 {
		t.Errorf("%+v", e)
	}
	h.work()
	h.order(plain)
}

func TestTheSameInputIsCheckedOnce(t *testing.T) {
	h := open(t, nil)
	h.order(plain)
	h.order(plain)
	if n := h.maker.Checks.Load(); n != 1 {
		t.Errorf("checked %d times", n)
	}
}

func TestACheckTellsWhatARunWouldFind(t *testing.T) {
	h := open(t, nil)
	for _, body := range []string{`{"style": "sleeve"}`, `{"block": "plain"}`, `{"block": ` + string(shopkit.Block("inline")) + `}`,
		`{"style": ` + string(shopkit.Style("inline", "plain")) + `, "sizes": ["8", "12"]}`} {
		a, err := h.Check(h.ctx, h.shop, []byte(body))
		h.ok(err)
		if a.Summary.Pass < 2 || len(a.Report) == 0 {
			t.Errorf("%s: %+v", body, a)
		}
	}
	for body, pointer := range map[string]string{
		`{"style": "nothing"}`:                                  "/style",
		`{"block": "nothing"}`:                                  "/block",
		`{"style": ` + string(shopkit.Style("s", "none")) + `}`: "/style/block",
	} {
		_, err := h.Check(h.ctx, h.shop, []byte(body))
		if e := h.refused(err, shop.Invalid); len(e.Faults) != 1 || e.Faults[0].Pointer != pointer {
			t.Errorf("%s: %+v", body, e.Faults)
		}
	}
}

func TestListsGoPageByPageAndACursorFitsItsList(t *testing.T) {
	h := open(t, nil)
	var want []string
	for range 5 {
		want = append([]string{h.order(plain).ID}, want...)
	}
	var got []string
	cursor := ""
	for {
		rs, next, err := h.Runs(h.ctx, h.shop, cursor, 2)
		h.ok(err)
		for _, r := range rs {
			got = append(got, r.ID)
		}
		if cursor = next; next == "" {
			break
		}
	}
	if strings.Join(got, " ") != strings.Join(want, " ") {
		t.Errorf("got\n%v, wanted\n%v", got, want)
	}
	_, _, err := h.SaveBlock(h.ctx, h.shop, shopkit.Block("another"))
	h.ok(err)
	bs, next, err := h.Blocks(h.ctx, h.shop, "", 1)
	h.ok(err)
	if len(bs) != 1 || bs[0].Name != "another" || next == "" {
		t.Errorf("%+v, %q", bs, next)
	}
	bs, end, err := h.Blocks(h.ctx, h.shop, next, 1)
	if err != nil || len(bs) != 1 || bs[0].Name != "plain" || end != "" {
		t.Errorf("%+v, %q, %v", bs, end, err)
	}
	for _, bad := range []string{next, "x", "!!", strings.Repeat("A", 2000), "cnVuCi0xCng"} {
		_, _, err := h.Runs(h.ctx, h.shop, bad, 1)
		h.refused(err, shop.Malformed)
	}
	for _, limit := range []int{-1, 201} {
		_, _, err := h.Runs(h.ctx, h.shop, "", limit)
		h.refused(err, shop.Invalid)
	}
}

func TestARefusalOfAMadeRunIsItsProblemAndIsNotTriedAgain(t *testing.T) {
	h := open(t, nil)
	r := h.order(plain)
	h.maker.Refuse = pattern.Faults{{Rule: "self_crossing", Size: "12", Piece: "sleeve", Detail: "the outline crosses itself"}}
	h.work()
	r = h.state(r.ID, shop.StateFailed)
	if r.Problem.Rule != shop.ProblemRefused || len(r.Problem.Faults) != 1 || r.Problem.Faults[0].Size != "12" || h.maker.Makes.Load() != 1 {
		t.Errorf("%+v after %d tries", r.Problem, h.maker.Makes.Load())
	}
}

func TestAKeyHasOneSpelling(t *testing.T) {
	h := open(t, nil)
	key, err := h.AddKey(h.ctx, "Rookery Lane")
	h.ok(err)
	// 52 letters hold four bits more than 32 bytes: other last letters decode to the same secret.
	for _, c := range "abcdefghijklmnopqrstuvwxyz234567" {
		other := key[:len(key)-1] + string(c)
		if _, err := h.Authenticate(h.ctx, other); (err == nil) != (other == key) {
			t.Errorf("with the last letter %c: %v", c, err)
		}
	}
}
