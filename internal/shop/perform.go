package shop

import (
	"cmp"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"runtime/debug"
	"strconv"
	"sync"
	"time"

	"sizerun/internal/document"
	"sizerun/internal/pattern"
)

// Why a try was broken off.
var (
	errCancelled = errors.New("a cancel was asked for")
	errTimedOut  = errors.New("the run took longer than a run may")
)

// Perform makes a run: what a worker does on being told its id. It may be called at any time, any
// number of times, by many processes at once; a run that is over or in other hands is let be. A nil
// error means that the database knows how it went, be it well or badly; an error means that it
// could not be told, and then the run is found again by Reconcile. When ctx ends, the run is handed
// back and the try does not count.
func (s *Service) Perform(ctx context.Context, runID string) (err error) {
	select {
	case s.slots <- struct{}{}:
	case <-ctx.Done():
		return ctx.Err()
	}
	free := sync.OnceFunc(func() { <-s.slots })
	h := &hands{free: free}
	defer h.letGo()

	now := s.now()
	c, err := s.store.Claim(ctx, runID, now, now.Add(s.terms.LeaseFor))
	if errors.Is(err, ErrFenced) || errors.Is(err, ErrAbsent) {
		return nil
	}
	if err != nil {
		return err
	}
	ctx, end := s.tracer.Begin(ctx, "run", traceOf(c.Request), "run.id", runID, "run.attempt", strconv.Itoa(c.Attempt))
	var broke error // why this try did not go well, whether it was written down or not
	defer func() { end(cmp.Or(err, broke)) }()
	if c.Attempt == 1 {
		s.meter.RunBegan(now.Sub(c.Run.CreatedAt))
	}
	log := s.log.With("run", runID, "attempt", c.Attempt)
	var out Outcome
	switch {
	case c.Run.CancelAsked:
		err = errCancelled
	case c.Tries > s.terms.MaxTries:
		// Its workers died before they could say anything: the kind of run that kills its worker.
		out = s.failed(ProblemGaveUp, "the run broke off in each of its tries; nothing was delivered", nil)
	default:
		out, err = s.work(ctx, c, h)
	}
	// Whatever happened, it is written down even when ctx is over.
	ctx, stop := context.WithTimeout(context.WithoutCancel(ctx), 10*time.Second)
	defer stop()
	if err != nil {
		var again *HandBack
		broke = err
		out, again = s.judge(c, err)
		if again != nil {
			log.WarnContext(ctx, "run handed back", "error", err, "tries", c.Tries, "at", again.At)
			s.meter.RunRetried()
			return s.settled(runID, s.store.HandBack(ctx, runID, c.Attempt, *again))
		}
	}
	out.At = s.now()
	log.InfoContext(ctx, "run over", "state", out.State, "files", len(out.Files), "seconds", out.At.Sub(now).Seconds(), "error", err)
	err = s.store.Finish(ctx, runID, c.Attempt, out)
	if err == nil {
		s.count(out)
	}
	err = s.settled(runID, err)
	if err == nil && out.State == StateCancelled {
		_, err = s.eraseAsked(ctx) // it may have been cancelled in order to be erased
	}
	return err
}

// count tells of a run that has ended.
func (s *Service) count(out Outcome) {
	problem := ""
	if out.Problem != nil {
		problem = out.Problem.Rule
	}
	s.meter.RunOver(out.State, problem)
	for _, f := range out.Files {
		s.meter.FileDelivered(f.Paper, f.Pages, f.Bytes)
	}
}

// hands holds a slot; once a maker has it, the slot is free only when the maker has returned.
type hands struct {
	free    func()
	byMaker bool
}

func (h *hands) letGo() {
	if !h.byMaker {
		h.free()
	}
}

func (s *Service) settled(runID string, err error) error {
	s.wakes.ring(runID)
	s.ringOutbox()
	s.ringHooks()
	if errors.Is(err, ErrFenced) {
		return nil
	}
	return err
}

func (s *Service) failed(rule, detail string, fs pattern.Faults) Outcome {
	return Outcome{State: StateFailed, Problem: &Problem{Rule: rule, Detail: detail, Faults: fs}}
}

// judge decides what becomes of a run whose try ended in err: an outcome, or another try.
func (s *Service) judge(c Claim, err error) (Outcome, *HandBack) {
	now := s.now()
	if errors.Is(err, errCancelled) {
		return Outcome{State: StateCancelled}, nil
	}
	if e, ok := errors.AsType[*Error](invalid(err, "the maker refused it")); ok && e.Kind != Unavailable {
		return s.failed(ProblemRefused, e.Detail, e.Faults), nil
	}
	if errors.Is(err, context.Canceled) {
		return Outcome{}, &HandBack{At: now, OutboxID: s.newID("out"), Refund: true}
	}
	if c.Tries >= s.terms.MaxTries {
		if errors.Is(err, errTimedOut) {
			return s.failed(ProblemTimeout, fmt.Sprintf("the run was not made within %v, in each of %d tries; order fewer sizes or papers at once", s.terms.RunTime, c.Tries), nil), nil
		}
		return s.failed(ProblemGaveUp, "the run broke off in each of its tries; nothing was delivered", nil), nil
	}
	wait := s.terms.RetryAfter << min(c.Tries-1, 10)
	return Outcome{}, &HandBack{At: now.Add(wait), OutboxID: s.newID("out")}
}

// work makes the run, or finds that it was made before.
func (s *Service) work(ctx context.Context, c Claim, h *hands) (_ Outcome, err error) {
	r := c.Run
	var req document.RunRequest
	if err := json.Unmarshal(c.Request, &req); err != nil {
		return Outcome{}, err
	}
	r.Engine = s.maker.Version()
	hash, err := inputHash(r, req)
	if err != nil {
		return Outcome{}, err
	}
	if out, ok := s.madeBefore(ctx, r, hash); ok {
		return out, nil
	}
	bl, err := s.store.Document(ctx, r.Shop, KindBlock, r.Block, r.BlockVersion)
	if err != nil {
		return Outcome{}, err
	}
	st, err := s.store.Document(ctx, r.Shop, KindStyle, r.Style, r.StyleVersion)
	if err != nil {
		return Outcome{}, err
	}
	style, err := document.Choose(st.Raw, req.Chosen)
	if err != nil {
		return Outcome{}, err
	}
	p, err := s.make(ctx, c, Making{Block: bl.Raw, Style: style, Request: req}, h)
	if err != nil {
		return Outcome{}, err
	}
	out := Outcome{State: StateDone, Report: &p.Summary, Engine: r.Engine, InputHash: hash}
	keep := p.Files
	if p.Failed && !r.DeliverAnyway {
		keep = nil
		out.State = StateFailed
		out.Problem = &Problem{Rule: ProblemChecks, Detail: fmt.Sprintf(
			"%d of the checks failed: the pattern would not sew, so no pattern file is delivered; see %s, or order with \"deliver\": \"anyway\"", p.Summary.Fail, ReportName)}
	}
	if len(p.Report) > 0 {
		keep = append(keep[:len(keep):len(keep)], ProductFile{Name: ReportName, MediaType: "application/json", Data: p.Report})
	}
	kept := s.stage(ctx, "keeping")
	defer func() { kept(err) }()
	for _, f := range keep {
		sum, err := s.files.Put(ctx, f.Data)
		if err != nil {
			return Outcome{}, fmt.Errorf("keeping %s: %w", f.Name, err)
		}
		out.Files = append(out.Files, FileInfo{ID: s.newID("file"), RunID: r.ID, Name: f.Name, MediaType: f.MediaType,
			Paper: f.Paper, Pages: f.Pages, Bytes: int64(len(f.Data)), SHA256: sum})
	}
	return out, nil
}

// madeBefore answers the outcome of an earlier run of the same input, as this run's own, when all
// its contents are still there.
func (s *Service) madeBefore(ctx context.Context, r Run, hash string) (Outcome, bool) {
	out, err := s.store.Made(ctx, r.Shop, hash)
	if err != nil {
		return Outcome{}, false // to make it again is always right
	}
	for i := range out.Files {
		f := &out.Files[i]
		rd, n, err := s.files.Open(ctx, f.SHA256)
		if err != nil {
			return Outcome{}, false
		}
		_ = rd.Close() // only looked at
		if n != f.Bytes {
			return Outcome{}, false
		}
		f.ID, f.RunID = s.newID("file"), r.ID
	}
	out.Engine, out.InputHash = r.Engine, hash
	return out, true
}

// make lets the maker work, within the time a run may take, while it keeps the lease, stores
// progress and looks for a cancel. It returns when the maker does, or soon after ctx is over: a
// maker that does not listen is left behind, keeps its slot until it returns, and is not heard.
func (s *Service) make(ctx context.Context, c Claim, m Making, h *hands) (Product, error) {
	ctx, cancel := context.WithCancelCause(ctx)
	defer cancel(nil)
	ctx, stop := context.WithTimeoutCause(ctx, s.terms.RunTime, errTimedOut)
	defer stop()

	var mu sync.Mutex
	at := Progress{Stage: StateMaking, Total: len(c.Run.Sizes)}
	told := at
	begun, over := "", func(error) {} // the maker's goroutine alone is at them
	progress := func(stage string, done, total int) {
		if stage != begun {
			over(nil)
			begun, over = stage, s.stage(ctx, stage)
		}
		mu.Lock()
		defer mu.Unlock()
		at = Progress{Stage: stage, Done: done, Total: total}
	}
	type result struct {
		p   Product
		err error
	}
	ended := make(chan result, 1)
	h.byMaker = true
	go func() {
		defer h.free()
		var r result
		defer func() {
			if v := recover(); v != nil {
				r = result{err: fmt.Errorf("the maker panicked: %v\n%s", v, debug.Stack())}
			}
			over(r.err)
			ended <- r
		}()
		r.p, r.err = s.maker.Make(ctx, m, progress)
	}()

	woken, quiet := s.wakes.wait(c.Run.ID)
	defer quiet()
	tick := time.NewTicker(max(s.terms.TouchEvery/4, time.Millisecond))
	defer tick.Stop()
	touched := time.Now()
	for {
		select {
		case r := <-ended:
			if r.err != nil && ctx.Err() != nil {
				return Product{}, context.Cause(ctx)
			}
			return r.p, r.err
		case <-ctx.Done():
			select {
			case <-ended: // too late to be used, but it has let go
			case <-time.After(200 * time.Millisecond):
				s.log.Warn("the maker does not listen to its end; its slot stays taken", "run", c.Run.ID, "attempt", c.Attempt)
			}
			return Product{}, context.Cause(ctx)
		case <-woken:
		case <-tick.C:
			mu.Lock()
			changed := at != told
			mu.Unlock()
			if !changed && time.Since(touched) < s.terms.TouchEvery {
				continue
			}
		}
		mu.Lock()
		told = at
		mu.Unlock()
		asked, err := s.store.Touch(ctx, c.Run.ID, c.Attempt, told, s.now().Add(s.terms.LeaseFor))
		switch {
		case errors.Is(err, ErrFenced):
			cancel(ErrFenced)
		case err != nil && ctx.Err() == nil:
			s.log.WarnContext(ctx, "progress not stored", "run", c.Run.ID, "error", err)
		case asked:
			cancel(errCancelled)
		}
		touched = time.Now()
	}
}
