package papers

import (
	"slices"
	"strconv"
	"strings"

	"slotcard/cmd/internal/files"
	"slotcard/cmd/internal/voice"
	"slotcard/layout/cards"
	"slotcard/plan"
	"slotcard/plan/finding"
)

// Asked are the flags that ask for the cards of some units alone.
var Asked = []struct {
	Flag string
	Of   func(*plan.Unit) string
	help string
	to   func(*Request) *[]string
}{
	{"only", unitName, "print only the cards of this `UNIT`, into a file of their own; may be repeated", func(f *Request) *[]string { return &f.units }},
	{"team", unitTeam, "print only the cards of the units of this `TEAM`; may be repeated", func(f *Request) *[]string { return &f.teams }},
	{"division", unitDivision, "print only the cards of the units in this division (`ID`); may be repeated", func(f *Request) *[]string { return &f.divisions }},
}

func unitName(u *plan.Unit) string     { return u.Name }
func unitTeam(u *plan.Unit) string     { return u.Team }
func unitDivision(u *plan.Unit) string { return u.Division }

// ValuesOf are the different values that units have, in the order of the plan.
func ValuesOf(r *plan.Resolved, of func(*plan.Unit) string) (values []string) {
	for _, u := range r.Plan.Units {
		if v := of(u); v != "" && !slices.Contains(values, v) {
			values = append(values, v)
		}
	}
	return values
}

// someCards are the cards of some units. A nil one is all cards.
type someCards struct {
	units map[*plan.Unit]bool
	slug  string // what they are, in the name of a file
}

// some looks the units up; nil where no flag asks for some.
func (f *Request) some(r *plan.Resolved) (*someCards, error) {
	s := &someCards{units: map[*plan.Unit]bool{}}
	var slugs []string
	for _, ask := range []struct {
		flag, what, prefix string
		words              []string
		of                 func(*plan.Unit) string
	}{
		{"only", "unit", "", f.units, unitName}, {"team", "team", "", f.teams, unitTeam}, {"division", "division", "division-", f.divisions, unitDivision},
	} {
		known := ValuesOf(r, ask.of)
		for _, word := range ask.words {
			if !slices.Contains(known, word) {
				return nil, unknownUnit(ask.what, word, known)
			}
			for _, u := range r.Plan.Units {
				if ask.of(u) == word {
					s.units[u] = true
				}
			}
			slugs = append(slugs, ask.prefix+slug(word, known))
		}
	}
	if slugs == nil {
		return nil, nil
	}
	if !slices.ContainsFunc(r.Cards, s.has) {
		return nil, files.Fail(r.Plan.Path, "has no seats there, so there is no card", nil)
	}
	if s.slug = strings.Join(slugs, "-"); len(s.slug) > mostSlug {
		s.slug = slugs[0] + "-and-" + strconv.Itoa(len(slugs)-1) + "-more"
	}
	return s, nil
}

// unknownUnit says what there is in place of a word that is none; what somebody calls
// by its number alone is found by it.
func unknownUnit(what, word string, known []string) error {
	var near []string
	for _, k := range known {
		if slices.Contains(strings.Fields(strings.ToLower(k)), strings.ToLower(word)) {
			near = append(near, k)
		}
	}
	if near == nil {
		near = finding.Closest(word, known, 3)
	}
	if known == nil {
		return voice.Usagef("no %s %q: the plan has none", what, word)
	}
	return voice.Usagef("no %s %q: %sthe plan's: %s", what, word, voice.DidYouMean(near[:min(len(near), 3)]), strings.Join(known, ", "))
}

// mostSlug is the most characters of a slug: names of files stay such as one reads.
const mostSlug = 60

// slug is a word as part of a file's name: small letters, figures and hyphens, and
// nothing that a file system or shell could take amiss. Where that makes two words of
// those known equal, or leaves nothing, its number among them tells it apart.
func slug(word string, known []string) string {
	s := files.Slug(word)
	same := 0
	for _, k := range known {
		if files.Slug(k) == s {
			same++
		}
	}
	if s == "" || same > 1 || len(s) > mostSlug {
		s = strings.Trim(s[:min(len(s), mostSlug-4)]+"-"+strconv.Itoa(1+slices.Index(known, word)), "-")
	}
	return s
}

func (s *someCards) has(c *plan.Card) bool { return s == nil || s.units[c.Unit] }

// suffix is what the names of their files end in.
func (s *someCards) suffix() string {
	if s == nil {
		return ""
	}
	return "-" + s.slug
}

// keep takes all other cards out of a deck. It was dealt whole, so that cards that
// are printed again are as large as before.
func (s *someCards) keep(d *cards.Deck) {
	if s != nil {
		d.Keep(s.has)
	}
}

// of is the plan with those cards alone.
func (s *someCards) of(r *plan.Resolved) *plan.Resolved {
	if s == nil {
		return r
	}
	some := *r
	some.Cards = nil
	for _, c := range r.Cards {
		if s.has(c) {
			some.Cards = append(some.Cards, c)
		}
	}
	return &some
}
