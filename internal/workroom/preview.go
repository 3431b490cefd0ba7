package workroom

import (
	"context"
	"errors"
	"fmt"

	"sizerun/internal/maker"
	"sizerun/internal/pattern"
	"sizerun/internal/sheet"
	"sizerun/internal/shop"
	"sizerun/internal/write/svg"
)

// MaxPreview is how many sizes and bodies one preview draws: somebody waits for it.
const MaxPreview = 12

// Preview makes the style and draws its pieces as one SVG.
func (r *Room) Preview(ctx context.Context, m shop.Making) ([]byte, error) {
	in, err := r.input(m)
	if err != nil {
		return nil, err
	}
	n := len(in.Sizes)
	if in.Sizes == nil {
		n = len(in.Block.Chart.Run)
	}
	if n += len(in.Bodies); n > MaxPreview {
		return nil, pattern.Faults{{Rule: "count", Pointer: "/sizes", Detail: fmt.Sprintf("a preview of %d sizes is asked for", n),
			Valid: fmt.Sprintf("1 to %d", MaxPreview), Remedy: `name fewer in "sizes"; a run makes all of them`}}
	}
	made, err := makeIt(ctx, in, nil)
	if err != nil {
		return nil, err
	}
	f, err := r.fonts.Borrow()
	if err != nil {
		return nil, err
	}
	defer r.fonts.Return(f)
	doc, err := sheet.Picture(made.Job(maker.Print{SeamLines: true, Ref: made.Style.Name + " · " + Engine}), f, sheet.Options{SeamLines: true})
	if err != nil {
		return nil, undrawable(err)
	}
	out, err := svg.Append(make([]byte, 0, 64<<10), doc, f)
	if err != nil {
		return nil, err
	}
	return out, ctx.Err()
}

// undrawable turns what a picture refuses into the common Fault.
func undrawable(err error) error {
	if f, ok := errors.AsType[sheet.Fault](err); ok {
		return pattern.Faults{{Rule: f.Rule, Pointer: "/sizes", Size: f.Size, Piece: f.Piece, Detail: f.Detail, Valid: f.Valid, Remedy: f.Remedy}}
	}
	return err
}
