package change

import (
	"fmt"
	"math"

	"sizerun/internal/geom"
	"sizerun/internal/inspect"
	"sizerun/internal/pattern"
)

// openedDart is a dart that is about to become something else, where it was or at another place.
type openedDart struct {
	was, piece pattern.Piece // before, and with the dart where it is wanted
	old, now   wedge
	pivot      geom.Point
	moved      *pivoted
	legs       [2]string // the legs' names before
	round      trued
}

// openDart finds a dart and moves it first if a place is told.
func (w *work) openDart(a *dartArgs, to *pattern.Place) (openedDart, error) {
	p, d, about, err := a.find(w)
	if err != nil {
		return openedDart{}, err
	}
	o := openedDart{was: p.Clone(), old: d, now: d, pivot: about, legs: [2]string{p.Edges[d.first].Name, p.Edges[d.second].Name}}
	o.piece = o.was.Clone()
	if to == nil {
		return o, nil
	}
	s, err := w.end("/to", &o.was, *to)
	if err != nil {
		return o, err
	}
	got, err := w.pivot(&o.was, pivoting{dart: d, about: about, to: s, share: 1, ptr: "/to"})
	if err != nil {
		return o, err
	}
	o.piece, o.now, o.moved = got.piece, got.dart, &got
	o.round = trueJoint(&o.piece, got.closed, 40, 0.06)
	o.moved.piece = o.piece
	return o, nil
}

// promise measures what is kept, whatever becomes of the open angle.
func (o *openedDart) promise(w *work, now *pattern.Piece, exempt ...string) {
	a, b := o.old.angle(o.pivot)*180/math.Pi, o.now.angle(o.pivot)*180/math.Pi
	w.promise(inspect.Check{Rule: "dart_angle", Piece: now.Name, Place: o.now.name, Measured: b, Want: pattern.Range{Min: a, Max: a}, Tolerance: 0.05, Unit: inspect.Degrees,
		Text: fmt.Sprintf("The angle left open in %s is the dart's, %.2f degrees seen from the pivot.", now.Name, a)})
	w.promiseLengths(&o.was, exempt, now)
	w.promiseMarks(&o.was, now)
}

// drawing begins the working drawing: the piece, the pivot, the part that is turned.
func (o *openedDart) drawing(w *work, title string, q *pattern.Piece) plan {
	l := plan{d: Drawing{Title: fmt.Sprintf("%s on %s, size %s", title, q.Name, w.p.Size)}}
	l.line(Outline, o.was.Name, o.was.Outline(), o.was.Name)
	l.step("Copy the piece with its dart.")
	x, y := l.point(o.old.a, "mouth"), l.point(o.old.b, "mouth")
	l.measure(x, y, nil, "mouth")
	if o.moved == nil {
		return l
	}
	l.step("Draw the legs on to the pivot, %s beyond the dart's point, and slash to it from the new place.", say(o.old.tip.Dist(o.pivot)))
	pv, nw := l.point(o.pivot, "pivot"), l.point(o.moved.slash.Start(), "new place")
	l.line(Construction, o.was.Name, geom.Polyline(o.old.a, o.pivot, o.old.b), "legs to the pivot")
	l.line(Construction, o.was.Name, o.moved.slash, "slash")
	l.measure(nw, pv, nil, "slash")
	l.step("Turn the part by %.1f degrees about the pivot, until the dart is closed.", math.Abs(o.moved.turn))
	l.line(CutAway, o.was.Name, o.moved.moved, "where the part lay")
	l.line(New, q.Name, q.Outline(), q.Name)
	return l
}
