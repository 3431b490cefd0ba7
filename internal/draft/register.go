package draft

import "sizerun/internal/pattern"

// Measure is a body measurement that a draft uses.
type Measure struct {
	Name, Sentence string
	Min, Max       float64 // mm: beyond these the draft's proportions no longer hold
	// Guess gives the measurement from the others when it was not taken; nil when it must be there.
	// It may use what stands before it in the list.
	Guess func(m map[string]float64) float64
	// Rule is Guess in words.
	Rule string
}

// Option is an ease or a length that the maker chooses.
type Option struct {
	Name, Sentence    string
	Default, Min, Max float64 // mm; of Numbers plain
}

// Definition is one kind of block that can be drafted.
type Definition struct {
	Name, Sentence string
	Measures       []Measure
	Ease           []Option // what the garment has more than the body
	Lengths        []Option // what the maker decides: how long, how wide at the hem
	Numbers        []Option // what the maker decides that is no length
	Finished       []pattern.Finished
	draw           func(*board)
}

// Register lists what can be drafted, by name.
func Register() []Definition {
	return []Definition{bodiceDraft(), circleDraft(), plainSleeveDraft(), skirtDraft(), trousersDraft()}
}

// Names lists the kinds of draft.
func Names() []string {
	var out []string
	for _, d := range Register() {
		out = append(out, d.Name)
	}
	return out
}

// Named finds a kind of draft.
func Named(kind string) (Definition, bool) {
	for _, d := range Register() {
		if d.Name == kind {
			return d, true
		}
	}
	return Definition{}, false
}

func optionNames(list []Option) []string {
	var out []string
	for _, o := range list {
		out = append(out, o.Name)
	}
	return out
}

func optionNamed(list []Option, name string) *Option {
	for i := range list {
		if list[i].Name == name {
			return &list[i]
		}
	}
	return nil
}

// options lists the groups of options under the names that documents have for them.
func (d *Definition) options(s *pattern.DraftSpec) []group {
	return []group{{"ease", " mm", d.Ease, s.Ease}, {"lengths", " mm", d.Lengths, s.Lengths}, {"numbers", "", d.Numbers, s.Numbers}}
}

type group struct {
	key, unit string
	list      []Option
	given     map[string]float64
}

// filled gives every option of the group: what is asked for, else the default.
func (g group) filled() map[string]float64 {
	out := make(map[string]float64, len(g.list))
	for _, o := range g.list {
		out[o.Name] = o.Default
		if v, ok := g.given[o.Name]; ok {
			out[o.Name] = v
		}
	}
	return out
}
