package main

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"

	"sizerun/internal/document"
	"sizerun/internal/shop"
	"sizerun/internal/workroom"
)

type makeCmd struct {
	Style     string   `arg:"" help:"The style's document, or a block's; - reads standard input."`
	Out       string   `required:"" help:"The folder for the files; it is made when it is not there."`
	Block     string   `help:"The block's document; by default it is looked for beside the style."`
	Sizes     []string `default:"all" help:"Sizes by name, or all."`
	Paper     []string `default:"A4,Letter,A0" help:"Papers: A4, Letter, A4+Letter (prints on both), A0, Roll914, Projector."`
	PerSize   bool     `help:"A file for each size instead of one nest."`
	SeamLines bool     `help:"Draw the seam lines inside the cut lines."`
	Companion string   `help:"Also the companion, on A4 or Letter: lists, order of sewing, working drawings." enum:",A4,Letter" default:""`
	Drawings  []string `help:"Sizes whose working drawings the companion shows, or all; by default the base size."`
	Stamp     string   `help:"A line for every page, as \"made for order 1001\"."`
	Anyway    bool     `help:"Write the files even when a check fails."`
}

// Run makes the files in this process.
func (c *makeCmd) Run(ctx context.Context, t *terminal) error {
	m, err := order(c.Style, c.Block, c.Sizes)
	if err != nil {
		return err
	}
	m.Request.Outputs = papers(c.Paper, c.PerSize, c.SeamLines)
	if len(c.Drawings) > 0 && c.Companion == "" {
		return errors.New("--drawings are pages of a companion: give --companion A4 or Letter too")
	}
	if c.Companion != "" {
		o := document.Output{Paper: c.Companion, Companion: true, Drawings: c.Drawings}
		if len(c.Drawings) == 1 && c.Drawings[0] == "all" {
			o.Drawings, o.EveryDrawing = nil, true
		}
		m.Request.Outputs = append(m.Request.Outputs, o)
	}
	m.Request.Stamp, m.Request.DeliverAnyway = c.Stamp, c.Anyway
	room, err := workroom.New(document.DefaultLimits())
	if err != nil {
		return err
	}
	p, err := room.Make(ctx, m, func(stage string, done, total int) {
		fmt.Fprintf(t.err, "\r%-12s %d/%d   ", stage, done, total)
	})
	fmt.Fprint(t.err, "\r\x1b[K")
	if err != nil {
		return err
	}
	if err := writeAll(c.Out, p); err != nil {
		return err
	}
	files := []fileLine{{Name: shop.ReportName, Bytes: len(p.Report)}}
	for _, f := range p.Files {
		files = append(files, fileLine{f.Name, f.Paper, f.Pages, len(f.Data)})
	}
	printClosing(t.out, p.Summary, files, c.Out)
	if p.Failed {
		if len(p.Files) == 0 {
			fmt.Fprintln(t.err, "Checks failed: no pattern was written. See report.json; --anyway writes it all the same.")
		}
		return quiet(exitFailed)
	}
	return nil
}

// writeAll writes whole files or none: each appears under its name only when it is complete.
func writeAll(dir string, p shop.Product) error {
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return err
	}
	if err := writeWhole(filepath.Join(dir, shop.ReportName), p.Report); err != nil {
		return err
	}
	for _, f := range p.Files {
		if err := writeWhole(filepath.Join(dir, f.Name), f.Data); err != nil {
			return err
		}
	}
	return nil
}

func writeWhole(name string, data []byte) error {
	f, err := os.CreateTemp(filepath.Dir(name), ".part-*")
	if err != nil {
		return err
	}
	_, err = f.Write(data)
	if e := f.Close(); err == nil {
		err = e
	}
	if err == nil {
		err = os.Chmod(f.Name(), 0o644)
	}
	if err == nil {
		err = os.Rename(f.Name(), name)
	}
	if err != nil {
		os.Remove(f.Name()) //nolint:errcheck // the first error is the one to tell
	}
	return err
}

type checkCmd struct {
	File  string   `arg:"" help:"A style's or a block's document; - reads standard input."`
	Block string   `help:"The block's document; by default it is looked for beside the style."`
	Sizes []string `default:"all" help:"Sizes by name, or all."`
	JSON  bool     `name:"json" help:"The report as JSON."`
	All   bool     `help:"List every check, not only the ones to look at."`
}

// Run checks in this process.
func (c *checkCmd) Run(ctx context.Context, t *terminal) error {
	m, err := order(c.File, c.Block, c.Sizes)
	if err != nil {
		return err
	}
	room, err := workroom.New(document.DefaultLimits())
	if err != nil {
		return err
	}
	report, s, err := room.Check(ctx, m)
	if err != nil {
		return err
	}
	if c.JSON {
		if _, err := t.out.Write(append([]byte(strings.TrimSpace(string(report))), '\n')); err != nil {
			return err
		}
	} else if err := printReport(t.out, report, c.All); err != nil {
		return err
	}
	if s.Fail > 0 {
		return quiet(exitFailed)
	}
	return nil
}

type versionCmd struct{}

// Run prints the engine's and the build's version.
func (versionCmd) Run(t *terminal) error {
	_, err := fmt.Fprintln(t.out, workroom.Engine, "build", version())
	return err
}
