package config

import (
	"errors"
	"net/url"
	"os"
	"strings"
)

// Where a setting's value came from.
const (
	FromDefault = "default"
	FromEnviron = "environment"
	FromFile    = "file"
)

// Line is a setting as an operator may see it on a screen that others see too.
type Line struct {
	Name  string
	Shown string // the value without its secrets; what is wrong is not shown at all
	From  string
	Valid string // what the value may be
	Wrong bool
}

// Explain tells of every setting what it is and where it came from, in the order of Help. A secret's
// value is in none of its lines: a password within a URL is left out, and so is whatever can't be
// read, for it may be a secret in the wrong place.
func Explain(environ []string, readFile func(string) ([]byte, error)) []Line {
	env := environment(environ)
	var out []Line
	for _, s := range settings() {
		l := Line{Name: s.name, Valid: s.valid}
		v, from, err := s.lookUp(env, readFile)
		l.From = from
		var scratch Config
		switch {
		case err != nil || !s.read(&scratch, v):
			l.Wrong, l.Shown = true, "(not valid, so not shown)"
		case v == "":
			l.Shown = "(not set)"
		default:
			l.Shown = shown(s.name, v)
		}
		out = append(out, l)
	}
	return out
}

// ExplainEnv is Explain for this process.
func ExplainEnv() []Line { return Explain(os.Environ(), os.ReadFile) }

const hidden = "(set, not shown)"

// shown is a value without its secrets.
func shown(name, v string) string {
	for _, word := range []string{"SECRET", "KEY", "TOKEN", "PASSWORD"} {
		if strings.Contains(name, word) {
			return hidden
		}
	}
	if !strings.HasSuffix(name, "_URL") {
		return v
	}
	scheme, rest, ok := strings.Cut(v, "://")
	if !ok {
		return hidden
	}
	// By hand, for net/url takes no list of hosts. Where the parts can't be told apart for sure,
	// nothing of them is shown.
	rest, query, _ := strings.Cut(rest, "?")
	if strings.Contains(query, "@") || strings.Contains(rest, "#") {
		return hidden
	}
	if i := strings.LastIndexByte(rest, '@'); i >= 0 {
		user, _, _ := strings.Cut(rest[:i], ":")
		rest = user + ":…@" + rest[i+1:]
	}
	return scheme + "://" + rest + shownQuery(query)
}

// harmless are the parameters of our URLs that hold no secret.
var harmless = map[string]bool{"sslmode": true, "host": true, "port": true, "user": true, "dbname": true, "db": true, "master": true,
	"endpoint": true, "region": true, "application_name": true, "connect_timeout": true, "pool_max_conns": true}

func shownQuery(query string) string {
	if query == "" {
		return ""
	}
	var out []string
	for pair := range strings.SplitSeq(query, "&") {
		k, _, _ := strings.Cut(pair, "=")
		if name, err := url.QueryUnescape(k); err != nil || !harmless[name] {
			pair = "…"
		}
		out = append(out, pair)
	}
	return "?" + strings.Join(out, "&")
}

// environment reads os.Environ's form.
func environment(environ []string) map[string]string {
	env := map[string]string{}
	for _, e := range environ {
		if k, v, ok := strings.Cut(e, "="); ok {
			env[k] = v
		}
	}
	return env
}

// lookUp finds a setting's text, and where it came from. Its errors begin with the variable.
func (s setting) lookUp(env map[string]string, readFile func(string) ([]byte, error)) (v, from string, err error) {
	v, path := env[s.name], env[s.name+"_FILE"]
	switch {
	case v != "" && path != "":
		return "", FromEnviron, errors.New(s.name + " and " + s.name + "_FILE are both set; keep one")
	case path != "":
		b, err := readFile(path)
		if err != nil {
			// The path may be a secret that was meant for the other variable.
			reason := "it can't be read"
			if errors.Is(err, os.ErrNotExist) {
				reason = "there is no such file"
			}
			return "", FromFile, errors.New(s.name + "_FILE: " + reason)
		}
		return strings.TrimRight(string(b), "\r\n"), FromFile, nil
	case v != "":
		return v, FromEnviron, nil
	}
	return s.def, FromDefault, nil
}
