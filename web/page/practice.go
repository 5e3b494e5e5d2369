package page

import (
	"cmp"
	"encoding/hex"
	"hash/fnv"
	"net/http"
	"net/url"
	"strconv"
	"strings"

	"coldwright/fail"
	"coldwright/practice"
	"coldwright/say/text"
	"coldwright/web/form"
)

// The practice bench keeps nothing here: seed, level, machine and the list of what was read stand in the address, and
// everything follows from them.

type practiceBody struct {
	Levels  form.Choice
	Machine form.Choice
	Seed    form.Field
}

func (s *Pages) Practice(w http.ResponseWriter, r *http.Request) error {
	return s.showPractice(w, r, http.StatusOK, form.Mistakes{})
}

func (s *Pages) showPractice(w http.ResponseWriter, r *http.Request, status int, wrong form.Mistakes) error {
	q := r.URL.Query()
	b := practiceBody{
		Levels: form.Choice{Name: "level", Label: "What may be wrong", Value: cmp.Or(q.Get("level"), strconv.Itoa(practice.LevelClear))},
		Machine: form.Choice{
			ID:      "f-machine",
			Name:    "machine",
			Label:   "Machine",
			Value:   q.Get("machine"),
			Options: []form.Option{{Value: "", Label: "Draw one"}},
		},
		Seed: form.NumberField(
			"seed",
			"Number of the exercise",
			"The same number, machine and choice give the same exercise: work it out side by side",
			"",
			cmp.Or(q.Get("seed"), s.newSeed()),
		),
	}
	for _, l := range practice.Levels() {
		b.Levels.Options = append(b.Levels.Options, form.Option{Value: strconv.Itoa(l), Label: text.PracticeLevel(l)})
	}
	for _, m := range practice.Machines() {
		b.Machine.Options = append(b.Machine.Options, form.Option{Value: m, Label: text.PracticeMachine(m)})
	}
	wrong.Place(r, &b.Seed)
	wrong.PlaceChoice(r, &b.Levels)
	wrong.PlaceChoice(r, &b.Machine)
	s.show(w, r, status, "practice", &Page{Title: "Practice", Class: "two", Body: b})
	return nil
}

// newSeed is a number short enough to say across a table.
func (s *Pages) newSeed() string {
	h := fnv.New32a()
	_, _ = h.Write([]byte(s.formID())) // a hash does not fail
	n, _ := strconv.ParseUint(hex.EncodeToString(h.Sum(nil)), 16, 32)
	return strconv.FormatUint(n%100_000, 10)
}

// session builds an exercise and what was read from the address.
func (s *Pages) session(q url.Values) (practice.Session, error) {
	seed, err := strconv.ParseUint(strings.TrimSpace(q.Get("seed")), 10, 64)
	if err != nil {
		return practice.Session{}, fail.Of(fail.BadValue, "seed", "practice.seed_typed", nil)
	}
	level, err := strconv.Atoi(q.Get("level"))
	if err != nil {
		return practice.Session{}, fail.Of(fail.Required, "level", "practice.level_missing", nil)
	}
	e, err := practice.New(seed, level, q.Get("machine"), s.app.Fit)
	if err != nil {
		return practice.Session{}, err
	}
	return e.Replay(strings.FieldsFunc(q.Get("did"), func(r rune) bool { return r == ',' }))
}
