package practice_test

import (
	"context"
	"errors"
	"math"
	"reflect"
	"slices"
	"sync"
	"testing"

	"pgregory.net/rapid"

	"coldwright/diagnose"
	"coldwright/fail"
	"coldwright/machine/fault"
	"coldwright/machine/reading"
	"coldwright/practice"
	"coldwright/refrigerant"
)

var (
	mu   sync.Mutex
	kept = map[string]*refrigerant.Fit{}
)

func fits(name string) (*refrigerant.Fit, error) {
	mu.Lock()
	defer mu.Unlock()
	if f := kept[name]; f != nil {
		return f, nil
	}
	r, err := refrigerant.Load(name)
	if err != nil {
		return nil, err
	}
	f, err := r.Fit()
	kept[name] = f
	return f, err
}

func draw(t testing.TB, seed uint64, level int, machine string) *practice.Exercise {
	t.Helper()
	e, err := practice.New(seed, level, machine, fits)
	if err != nil {
		t.Fatal(err)
	}
	return e
}

func replay(t testing.TB, e *practice.Exercise, keys ...string) practice.Session {
	t.Helper()
	s, err := e.Replay(keys)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// The same seed, level and machine give the same readings, in whatever order they are taken; another seed gives others.
func TestNew_SameSeedSameExercise(t *testing.T) {
	for level := 1; level <= 4; level++ {
		a, b := draw(t, 7, level, ""), draw(t, 7, level, "")
		keys := a.Keys()
		back := slices.Clone(keys)
		slices.Reverse(back)
		one, two := replay(t, a, keys...), replay(t, b, back...)
		for _, r := range one.Sheet().Readings {
			if o, ok := two.Sheet().Find(r.At); !ok || o.Value != r.Value {
				t.Errorf("level %d, %s: %v and %v", level, r.At, r.Value, o.Value)
			}
		}
		if !reflect.DeepEqual(one.Sheet().Seen, two.Sheet().Seen) {
			t.Errorf("level %d: looks differ: %+v and %+v", level, one.Sheet().Seen, two.Sheet().Seen)
		}
		other := replay(t, draw(t, 8, level, ""), "box_air")
		if other.Sheet().Readings[0].Value == replay(t, a, "box_air").Sheet().Readings[0].Value {
			t.Errorf("level %d: seeds 7 and 8 read the same box", level)
		}
		if again := replay(t, a, "box_air", "box_air"); len(again.Events) != 1 || again.Minutes() != replay(t, a, "box_air").Minutes() {
			t.Errorf("level %d: a reading taken twice counts twice", level)
		}
	}
	for _, m := range practice.Machines() {
		if e := draw(t, 3, 1, m); e.Key != m {
			t.Errorf("asked for %s, drew %s", m, e.Key)
		}
	}
	drawn := draw(t, 3, 1, "")
	if !reflect.DeepEqual(
		replay(t, drawn, drawn.Keys()...).Sheet().Readings,
		replay(t, draw(t, 3, 1, drawn.Key), drawn.Keys()...).Sheet().Readings,
	) {
		t.Error("picking the machine that is drawn anyway changes the exercise")
	}
}

// Minutes, grams and risks: what the next reading is ranked by; gauges cost once.
func TestTake_Costs(t *testing.T) {
	e := draw(t, 11, 1, "walk-in-freezer")
	s := replay(t, e, "box_air", "glass")
	if s.Grams() != 0 || s.Gauges() {
		t.Errorf("a thermometer and a look lose %v g", s.Grams())
	}
	s, err := s.Take("suction_pressure")
	if err != nil {
		t.Fatal(err)
	}
	first := s.Events[2]
	if first.Risk != diagnose.RiskOpens || !s.Gauges() {
		t.Errorf("the first pressure carries risk %q", first.Risk)
	}
	if s, err = s.Take("discharge_pressure"); err != nil {
		t.Fatal(err)
	}
	second := s.Events[3]
	if second.Risk != "" || second.Minutes >= first.Minutes {
		t.Errorf("the second pressure counts %v min with risk %q, the first %v min", second.Minutes, second.Risk, first.Minutes)
	}
	// 1.5 m of 4.8 mm hold 27 ml: at −25 to −10 °C dew R-404A vapour is about 13 to 23 kg/m³ and liquid at 30 to 55
	// °C about 1020 down to 840 kg/m³ (from memory, of published tables), so 0.3 to 0.7 g and 22 to 29 g; wider here
	// because the fault moves both.
	if first.Grams < 0.1 || first.Grams > 1 {
		t.Errorf("the low side leaves %.2f g in its hose", first.Grams)
	}
	if second.Grams < 20 || second.Grams > 32 {
		t.Errorf("the high side leaves %.2f g in its hose", second.Grams)
	}
	for _, o := range s.Offers() {
		if o.Taken != s.Taken(o.At) || o.Minutes <= 0 {
			t.Errorf("offer %+v", o)
		}
	}
}

// Spending never goes down, and reading more never undoes a reading.
func TestTake_Properties(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		e := draw(t, rapid.Uint64Range(1, 300).Draw(r, "seed"), rapid.IntRange(1, 4).Draw(r, "level"), "")
		keys := rapid.SliceOfN(rapid.SampledFrom(e.Keys()), 1, 12).Draw(r, "keys")
		s := e.Start()
		for _, k := range keys {
			before := s
			var err error
			if s, err = s.Take(k); err != nil {
				r.Fatal(err)
			}
			if s.Minutes() < before.Minutes() || s.Grams() < before.Grams() || len(s.Events) < len(before.Events) {
				r.Fatalf("%s: spending fell", k)
			}
			if len(before.Events) > 0 && !reflect.DeepEqual(before.Events, s.Events[:len(before.Events)]) {
				r.Fatalf("%s changed what was read before", k)
			}
		}
		again, err := e.Replay(s.Done())
		if err != nil {
			r.Fatal(err)
		}
		if !reflect.DeepEqual(s.Events, again.Events) {
			r.Fatalf("replayed: %+v, want %+v", again.Events, s.Events)
		}
	})
}

// More right, more proven and fewer minutes never give fewer points; all of it gives 100.
func TestPoints_Monotone(t *testing.T) {
	if got := practice.Points(1, 1, 1, 30, 30).Total(); got != 100 {
		t.Errorf("everything right at the expert's pace: %v", got)
	}
	if got := practice.Points(0, 0, 0, 1, 30).Total(); got != 0 {
		t.Errorf("everything wrong at once: %v", got)
	}
	rapid.Check(t, func(r *rapid.T) {
		share := rapid.Float64Range(0, 1)
		c, p, q := share.Draw(r, "cause"), share.Draw(r, "repair"), share.Draw(r, "proof")
		m, x := rapid.Float64Range(1, 300).Draw(r, "minutes"), rapid.Float64Range(1, 300).Draw(r, "expert")
		more := rapid.Float64Range(0, 1).Draw(r, "more")
		base := practice.Points(c, p, q, m, x).Total()
		for what, s := range map[string]practice.Score{
			"cause": practice.Points(math.Min(1, c+more), p, q, m, x), "repair": practice.Points(c, math.Min(1, p+more), q, m, x),
			"proof": practice.Points(c, p, math.Min(1, q+more), m, x), "minutes": practice.Points(c, p, q, m/(1+more), x),
		} {
			if s.Total() < base-1e-12 || s.Total() > 100 || s.Total() < 0 {
				r.Fatalf("better in %s: %v after %v", what, s.Total(), base)
			}
		}
	})
}

// Naming the truth is right, naming something else is not, and the truth is worth more.
func TestName_Truth(t *testing.T) {
	for _, c := range []struct {
		seed  uint64
		level int
	}{{2, 1}, {4, 3}, {5, 4}} {
		if testing.Short() && c.level > 1 {
			break
		}
		e := draw(t, c.seed, c.level, "")
		s := replay(t, e, "box_air", "ambient", "suction_pressure", "discharge_pressure")
		wrong, err := s.Name(t.Context(), e.Candidates()[:1], nil)
		if err != nil {
			t.Fatal(err)
		}
		truth := wrong.Truths()
		right, err := s.Name(t.Context(), truth, wrong.Remedies)
		if err != nil {
			t.Fatal(err)
		}
		if !right.Right || right.Score.Cause != practice.MaxCause || right.Score.Repair != practice.MaxRepair {
			t.Errorf("seed %d level %d: the truth %v scores %+v", c.seed, c.level, truth, right.Score)
		}
		if len(truth) != 1 || truth[0] != e.Candidates()[0] {
			if wrong.Right || wrong.Points >= right.Points {
				t.Errorf("seed %d level %d: wrong %d, right %d points", c.seed, c.level, wrong.Points, right.Points)
			}
		}
		if len(right.Path) != 4 || len(right.Expert) < 3 || right.ExpertMinutes <= 0 || len(right.Ladder) != 4 {
			t.Errorf(
				"seed %d level %d: %d steps, expert %d, ladder %d",
				c.seed,
				c.level,
				len(right.Path),
				len(right.Expert),
				len(right.Ladder),
			)
		}
		sum := 0.0
		for _, st := range right.Expert {
			sum += st.Minutes
		}
		if math.Abs(sum-right.ExpertMinutes) > 1e-9 {
			t.Errorf("the expert's steps take %v min, the sum says %v", sum, right.ExpertMinutes)
		}
	}
}

func TestName_Refuses(t *testing.T) {
	e := draw(t, 1, 1, "")
	full := replay(t, e, "box_air", "ambient")
	for name, c := range map[string]struct {
		s      practice.Session
		cause  []fault.Code
		repair []string
		field  string
	}{
		"too little read":  {replay(t, e, "box_air"), []fault.Code{fault.LowCharge}, nil, "cause"},
		"looks only":       {replay(t, e, "condenser_dirt", "coil_ice"), []fault.Code{fault.LowCharge}, nil, "cause"},
		"no cause":         {full, nil, nil, "cause"},
		"three causes":     {full, []fault.Code{fault.LowCharge, fault.CoilAir, fault.CondenserAir}, nil, "cause"},
		"not on the list":  {full, []fault.Code{fault.SuctionGauge}, nil, "cause"},
		"healthy and more": {replay(t, draw(t, 1, 4, ""), "box_air", "ambient"), []fault.Code{fault.Healthy, fault.CoilAir}, nil, "cause"},
		"no such repair":   {full, []fault.Code{fault.LowCharge}, []string{"hope"}, "repair"},
	} {
		_, err := c.s.Name(t.Context(), c.cause, c.repair)
		var f *fail.Error
		if !errors.As(err, &f) || f.Field != c.field {
			t.Errorf("%s: %v", name, err)
		}
	}
	if _, err := full.Take("coil_fans"); fail.CodeOf(err) != fail.BadValue {
		t.Errorf("something nobody offers: %v", err)
	}
	for _, level := range []int{0, 5} {
		if _, err := practice.New(1, level, "", fits); fail.CodeOf(err) != fail.BadValue {
			t.Errorf("level %d: %v", level, err)
		}
	}
	if _, err := practice.New(1, 1, "ship", fits); fail.CodeOf(err) != fail.BadValue {
		t.Errorf("a machine nobody has: %v", err)
	}
}

// The expert, who reads what the judgement asks for, puts the truth first in most exercises of level 1. Measured once
// over seeds 1 to 60: 51 (85 %), after 72 minutes and 11 readings on average, as the package's comment claims. On seeds
// it was not measured on the share stands within three standard errors of that, both samples counted.
func TestExpert_NamesTheTruthFirst(t *testing.T) {
	n, hit := 14, 0
	if testing.Short() {
		n = 4
	}
	const claim, measured = 51.0 / 60, 60
	for seed := 1000; seed < 1000+n; seed++ {
		e := draw(t, uint64(seed+1), practice.LevelClear, "")
		r, err := replay(t, e, "box_air", "ambient").Name(context.Background(), e.Candidates()[:1], nil)
		if err != nil {
			t.Fatal(err)
		}
		if r.ExpertNamed[0] == r.Truths()[0] {
			hit++
		}
		last := r.Expert[len(r.Expert)-1]
		if last.Advice == diagnose.AdviseAct && last.Next != "" {
			t.Errorf("seed %d: advised to act, and to read %s", seed+1, last.Next)
		}
		for _, st := range r.Expert {
			if _, err := reading.ParsePlace(st.At); err != nil && st.Word == "" {
				t.Errorf("seed %d: a look at %s saw nothing", seed+1, st.At)
			}
		}
	}
	slack := 3 * math.Sqrt(claim*(1-claim)*(1/float64(n)+1.0/measured))
	if share := float64(hit) / float64(n); math.Abs(share-claim) > slack {
		t.Errorf("the expert names the truth first in %d of %d: %.2f, claimed %.2f ± %.2f", hit, n, share, claim, slack)
	}
	t.Logf("%d of %d, claimed %.2f ± %.2f", hit, n, claim, slack)
}
