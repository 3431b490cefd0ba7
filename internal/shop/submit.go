package shop

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"strconv"
	"sync"
	"time"

	"sizerun/internal/document"
)

// SubmitRun orders a run. Whatever can be refused is refused now, before anything is queued.
// replayed is true when the idempotency key has made a run before: then that run is answered, as it
// stands now. A key remembers only what was admitted; a refusal may be tried again with it.
func (s *Service) SubmitRun(ctx context.Context, shop ShopID, raw []byte, idem IdempotencyKey) (run Run, replayed bool, err error) {
	var rem *Remembered
	if idem.Key != "" {
		if err := idem.check(); err != nil {
			return Run{}, false, err
		}
		rem = &Remembered{Shop: shop, Scope: idem.Scope, Key: idem.Key, Print: idem.printOf(raw)}
		leave, err := s.admitting.enter(*rem)
		if err != nil {
			return Run{}, false, err
		}
		defer leave()
		earlier, err := s.store.Recall(ctx, *rem, s.now())
		if err != nil {
			return Run{}, false, err
		}
		if earlier != nil {
			return s.replay(ctx, *rem, *earlier)
		}
	}
	run, request, err := s.weigh(ctx, shop, raw)
	if err != nil {
		return Run{}, false, err
	}
	if rem != nil {
		rem.RunID, rem.CreatedAt = run.ID, run.CreatedAt
	}
	quota, err := s.quota(ctx, shop)
	if err != nil {
		return Run{}, false, err
	}
	noted := s.noted(ctx, shop, DidOrder, run.ID)
	a := Admission{Run: run, Request: request, OutboxID: s.newID("out"), Idem: rem, Noted: &noted}
	quota.admit(&a)
	v, err := s.store.Admit(ctx, a)
	if err != nil {
		return Run{}, false, err
	}
	switch v.Kind {
	case KeyTaken: // by another process, between Recall and Admit
		return s.replay(ctx, *rem, *v.Earlier)
	case ExternalTaken:
		return Run{}, false, &Error{Kind: Conflict, RunID: v.RunID,
			Detail: "this shop's run " + v.RunID + " has the external_id " + quote(run.ExternalID) + " already; fetch that run, or order under another external_id"}
	case ShopFull, RunsFull, PagesFull:
		return Run{}, false, a.full(v.Kind)
	}
	s.log.InfoContext(ctx, "run admitted", "run", run.ID, "shop", string(shop), "style", run.Style, "sizes", len(run.Sizes))
	s.ringOutbox()
	return run, false, nil
}

// weigh reads a request against the shop's documents and lets the maker check it.
func (s *Service) weigh(ctx context.Context, shop ShopID, raw []byte) (Run, []byte, error) {
	req, err := document.DecodeRun(raw, s.terms.Documents)
	if err != nil {
		return Run{}, nil, invalid(err, "the run can't be made as it was ordered")
	}
	who := ActorOf(ctx)
	req.Sample = who.Sandbox
	var styleVersion, blockVersion string // the current ones, but of what is published
	if who.Scope == ScopeStorefront || req.Parameters != nil {
		if styleVersion, blockVersion, err = s.offered(ctx, shop, &req); err != nil {
			return Run{}, nil, err
		}
	}
	st, err := s.store.Document(ctx, shop, KindStyle, req.Style, styleVersion)
	if errors.Is(err, ErrAbsent) {
		return Run{}, nil, unknownName("/style", "style", req.Style)
	} else if err != nil {
		return Run{}, nil, err
	}
	bl, err := s.store.Document(ctx, shop, KindBlock, st.Block, blockVersion)
	if errors.Is(err, ErrAbsent) {
		return Run{}, nil, unknownName("/style", "block", st.Block)
	} else if err != nil {
		return Run{}, nil, err
	}
	style, err := document.Choose(st.Raw, req.Chosen)
	if err != nil {
		return Run{}, nil, err
	}
	request, err := json.Marshal(struct {
		document.RunRequest
		carried
	}{req, carried{s.tracer.Carried(ctx)}})
	if err != nil {
		return Run{}, nil, err
	}
	run := Run{
		ID: s.newID("run"), Shop: shop,
		Style: st.Name, StyleVersion: st.Version, Block: bl.Name, BlockVersion: bl.Version,
		Engine: s.maker.Version(), State: StateQueued, Outputs: req.Outputs, DeliverAnyway: req.DeliverAnyway,
		Stamp: req.Stamp, ExternalID: req.ExternalID, CreatedAt: s.now(),
		OrderedBy: who.KeyID, Sandbox: who.Sandbox,
	}
	if run.InputHash, err = inputHash(run, req); err != nil {
		return Run{}, nil, err
	}
	// Whatever stamp it gets, it is the same design.
	bare := req
	bare.Stamp = ""
	design, err := inputHash(run, bare)
	if err != nil {
		return Run{}, nil, err
	}
	sizes, known := s.weighed.get(design)
	if !known {
		if err := s.enterCheck(ctx); err != nil {
			return Run{}, nil, err
		}
		making := Making{Block: bl.Raw, Style: style, Request: req}
		_, sum, err := s.check(ctx, making)
		if err == nil && (sum.Fail == 0 || req.DeliverAnyway) { // otherwise no paper is laid out
			_, err = s.estimate(ctx, making)
		}
		s.leaveCheck()
		if err != nil {
			return Run{}, nil, invalid(err, "the run can't be made as it was ordered")
		}
		sizes = sum.Sizes
		s.weighed.put(design, sizes)
	}
	run.Sizes = sizes
	run.Progress = Progress{Stage: StateQueued, Total: len(sizes)}
	return run, request, nil
}

// inputHash names everything that the files of a run depend on. The shop is in it, so that nobody
// can tell from a run's speed what another shop has ordered.
func inputHash(r Run, req document.RunRequest) (string, error) {
	req.ExternalID = ""
	b, err := json.Marshal(struct {
		Shop                       ShopID
		Engine, Block, Style       string
		BlockVersion, StyleVersion string
		Request                    document.RunRequest
	}{r.Shop, r.Engine, r.Block, r.Style, r.BlockVersion, r.StyleVersion, req})
	if err != nil {
		return "", err
	}
	sum := sha256.Sum256(b)
	return hex.EncodeToString(sum[:]), nil
}

func (s *Service) replay(ctx context.Context, asked, earlier Remembered) (Run, bool, error) {
	if asked.Print != earlier.Print {
		return Run{}, false, errKeyReused
	}
	r, err := s.Run(ctx, asked.Shop, earlier.RunID)
	return r, true, err
}

var errKeyReused = &Error{Kind: Invalid, Detail: "this Idempotency-Key was used with another body; a new order needs a new key"}

// printOf is what the key is tied to.
func (k IdempotencyKey) printOf(raw []byte) [32]byte {
	if k.whole != nil {
		raw = k.whole
	}
	return sha256.Sum256(raw)
}

func (k IdempotencyKey) check() error {
	ok := len(k.Key) <= MaxIdempotencyKey
	for i := range len(k.Key) {
		ok = ok && k.Key[i] > ' ' && k.Key[i] < 0x7f
	}
	if !ok {
		return &Error{Kind: Malformed, Detail: "an Idempotency-Key has 1 to " + strconv.Itoa(MaxIdempotencyKey) + " visible ASCII characters"}
	}
	return nil
}

// admitting knows the keyed requests that this process is at. A second one is sent away with a 409
// at once; one that came to another process waits in the database for the first one's transaction.
type admitting struct {
	mu sync.Mutex
	m  map[[3]string][32]byte
}

func (a *admitting) enter(r Remembered) (leave func(), err error) {
	k := [3]string{string(r.Shop), r.Scope, r.Key}
	a.mu.Lock()
	defer a.mu.Unlock()
	if print, busy := a.m[k]; busy {
		if print != r.Print {
			return nil, errKeyReused
		}
		return nil, &Error{Kind: Conflict, RetryAfter: time.Second,
			Detail: "the first request with this Idempotency-Key is still being admitted; repeat it in a second"}
	}
	if a.m == nil {
		a.m = make(map[[3]string][32]byte)
	}
	a.m[k] = r.Print
	return func() {
		a.mu.Lock()
		defer a.mu.Unlock()
		delete(a.m, k)
	}, nil
}

// weighed remembers inputs that the maker has found good, and their sizes: a shop orders the same
// style again and again, and the answer depends on the input alone.
type weighed struct {
	mu sync.Mutex
	m  map[string][]string
}

const weighedMost = 1000

func (w *weighed) get(hash string) ([]string, bool) {
	w.mu.Lock()
	defer w.mu.Unlock()
	v, ok := w.m[hash]
	return v, ok
}

func (w *weighed) put(hash string, sizes []string) {
	w.mu.Lock()
	defer w.mu.Unlock()
	if w.m == nil || len(w.m) >= weighedMost {
		w.m = make(map[string][]string)
	}
	w.m[hash] = sizes
}
