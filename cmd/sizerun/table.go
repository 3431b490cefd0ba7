package main

import (
	"encoding/json"
	"fmt"
	"io"
	"path/filepath"
	"text/tabwriter"

	"sizerun/internal/shop"
)

// fileLine is a file in the closing table. What is no paper has neither paper nor pages.
type fileLine struct {
	Name, Paper  string
	Pages, Bytes int
}

// printClosing ends a making with a short table: checks by size, then the files.
func printClosing(w io.Writer, s shop.Summary, files []fileLine, dir string) {
	tw := tabwriter.NewWriter(w, 0, 4, 2, ' ', 0)
	fmt.Fprintln(tw, "size\tpass\twarn\tfail")
	for _, z := range s.BySize {
		fmt.Fprintf(tw, "%s\t%d\t%d\t%d\n", z.Size, z.Pass, z.Warn, z.Fail)
	}
	fmt.Fprintf(tw, "whole run\t%d\t%d\t%d\n", s.Pass, s.Warn, s.Fail)
	fmt.Fprintln(tw)
	fmt.Fprintln(tw, "file\tpaper\tpages\tbytes")
	for _, f := range files {
		fmt.Fprintf(tw, "%s\t%s\t%d\t%d\n", filepath.Join(dir, f.Name), f.Paper, f.Pages, f.Bytes)
	}
	tw.Flush() //nolint:errcheck // nothing is to be done about a terminal that is gone
}

// reportJSON is as much of report.json as a table shows.
type reportJSON struct {
	Style  string `json:"style"`
	Pass   int    `json:"pass"`
	Warn   int    `json:"warn"`
	Fail   int    `json:"fail"`
	Checks []struct {
		Rule      string     `json:"rule"`
		Size      string     `json:"size"`
		Piece     string     `json:"piece"`
		Place     string     `json:"place"`
		Measured  float64    `json:"measured"`
		Want      [2]float64 `json:"want"`
		Tolerance float64    `json:"tolerance"`
		Unit      string     `json:"unit"`
		Verdict   string     `json:"verdict"`
		Text      string     `json:"text"`
	} `json:"checks"`
}

// printReport prints a line a rule with how its checks came out, then what needs a look.
func printReport(w io.Writer, raw []byte, all bool) error {
	var r reportJSON
	if err := json.Unmarshal(raw, &r); err != nil {
		return err
	}
	type line struct{ pass, warn, fail int }
	var order []string
	rules := map[string]*line{}
	for _, c := range r.Checks {
		l := rules[c.Rule]
		if l == nil {
			l = &line{}
			rules[c.Rule] = l
			order = append(order, c.Rule)
		}
		switch c.Verdict {
		case "pass":
			l.pass++
		case "warn":
			l.warn++
		default:
			l.fail++
		}
	}
	tw := tabwriter.NewWriter(w, 0, 4, 2, ' ', 0)
	fmt.Fprintf(tw, "%s\n\ncheck\tpass\twarn\tfail\n", r.Style)
	for _, rule := range order {
		l := rules[rule]
		fmt.Fprintf(tw, "%s\t%d\t%d\t%d\n", rule, l.pass, l.warn, l.fail)
	}
	fmt.Fprintf(tw, "all\t%d\t%d\t%d\n", r.Pass, r.Warn, r.Fail)
	header := false
	for _, c := range r.Checks {
		if c.Verdict == "pass" && !all {
			continue
		}
		if !header {
			fmt.Fprintln(tw, "\nverdict\tsize\tpiece\tplace\tcheck\tmeasured\twanted\twhat")
			header = true
		}
		fmt.Fprintf(tw, "%s\t%s\t%s\t%s\t%s\t%.3g %s\t%.4g to %.4g ±%.2g\t%s\n", c.Verdict, c.Size, c.Piece, c.Place, c.Rule, c.Measured, c.Unit, c.Want[0], c.Want[1], c.Tolerance, c.Text)
	}
	return tw.Flush()
}
