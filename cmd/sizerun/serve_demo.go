package main

import (
	"context"
	"fmt"
	"io"

	"sizerun/testdata"
)

// stockDemo keeps the demo shop's block and style, and prints a key of the shop, on one line so that a
// script can read it. The key is shown this once; every start with --demo makes another.
func (h *house) stockDemo(ctx context.Context, out io.Writer) error {
	key, err := h.service.AddKey(ctx, demoShop)
	if err != nil {
		return err
	}
	shop, err := h.service.Authenticate(ctx, key)
	if err != nil {
		return err
	}
	block, err := testdata.Files.ReadFile("blocks/wren-w.json")
	if err != nil {
		return err
	}
	if _, _, err := h.service.SaveBlock(ctx, shop.ID, block); err != nil {
		return err
	}
	style, err := testdata.Files.ReadFile("styles/wren-petal.json")
	if err != nil {
		return err
	}
	if _, _, err := h.service.SaveStyle(ctx, shop.ID, style); err != nil {
		return err
	}
	_, err = fmt.Fprintf(out, "the key of %s: %s\n", demoShop, key)
	return err
}
