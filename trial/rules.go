package trial

import (
	"bytes"
	_ "embed"
	"encoding/json"
	"fmt"
	"slices"
	"strings"

	"coldwright/fail"
	"coldwright/units"
)

//go:embed data/evacuation.json
var evacuationFile []byte

//go:embed data/food.json
var foodFile []byte

// Profile is a published criterion of an evacuation: pull down to Target, stand for Hold minutes, accept at most Accept.
type Profile struct {
	Key      string  `json:"key"`
	Target   float64 `json:"target_micron"`
	Hold     float64 `json:"hold_min"`
	Accept   float64 `json:"accept_micron"`
	Note     string  `json:"note"`
	Source   string  `json:"source"`
	Evidence string  `json:"evidence"` // SEEN, SECONDARY or MEMORY
	Read     string  `json:"read"`     // date
}

// FoodLimit is a temperature limit with its section.
type FoodLimit struct {
	Key      string   `json:"key"`
	Kind     string   `json:"kind"` // product or air
	LimitC   float64  `json:"limit_c"`
	LimitF   *float64 `json:"limit_f,omitempty"`
	Section  string   `json:"section"`
	Note     string   `json:"note"`
	Source   string   `json:"source"`
	Evidence string   `json:"evidence"`
	Read     string   `json:"read"`
}

// Limit is the temperature.
func (f FoodLimit) Limit() units.Temp { return units.Celsius(f.LimitC) }

// Thermometer is what a rule asks of a thermometer.
type Thermometer struct {
	Kind       string  `json:"kind"`
	ToleranceC float64 `json:"tolerance_c"`
	ToleranceF float64 `json:"tolerance_f"`
	Section    string  `json:"section"`
	Source     string  `json:"source"`
	Evidence   string  `json:"evidence"`
	Read       string  `json:"read"`
}

func strict(b []byte, v any) {
	d := json.NewDecoder(bytes.NewReader(b))
	d.DisallowUnknownFields()
	if err := d.Decode(v); err != nil {
		panic("trial: embedded data: " + err.Error()) // a programmer's mistake, caught by the tests of the data
	}
}

// Profiles lists the published evacuation criteria on file.
func Profiles() []Profile {
	var f struct {
		Profiles []Profile `json:"profiles"`
	}
	strict(evacuationFile, &f)
	return f.Profiles
}

// FindProfile returns the criterion of a key.
func FindProfile(key string) (Profile, error) {
	var keys []string
	for _, p := range Profiles() {
		if p.Key == key {
			return p, nil
		}
		keys = append(keys, p.Key)
	}
	return Profile{}, fail.New(fail.NotFound, "profile", fmt.Sprintf("no criterion %q", clip(key)), "on file: "+strings.Join(keys, ", "))
}

// FoodLimits lists the food temperature limits on file.
func FoodLimits() []FoodLimit {
	l, _ := food()
	return l
}

func food() ([]FoodLimit, []Thermometer) {
	var f struct {
		Limits       []FoodLimit   `json:"limits"`
		Thermometers []Thermometer `json:"thermometers"`
	}
	strict(foodFile, &f)
	return f.Limits, f.Thermometers
}

// FindFoodLimit returns the limit of a key.
func FindFoodLimit(key string) (FoodLimit, error) {
	var keys []string
	for _, l := range FoodLimits() {
		if l.Key == key {
			return l, nil
		}
		keys = append(keys, l.Key)
	}
	return FoodLimit{}, fail.New(
		fail.NotFound,
		"limit",
		fmt.Sprintf("no limit %q", clip(key)),
		"a temperature such as 41F or 5C, or one of "+strings.Join(keys, ", "),
	)
}

// RequiredTolerance is what the rule asks of a thermometer of the kind (product or air), K.
func RequiredTolerance(kind string) units.TempDiff {
	_, ts := food()
	i := slices.IndexFunc(ts, func(t Thermometer) bool { return t.Kind == kind })
	return units.TempDiff(ts[max(i, 0)].ToleranceC)
}

// Codes lists every code that the standing-pressure test, the rise test and the cold record may answer with, for
// those who put them into words.
func Codes() []string {
	return []string{
		TightWithin.String(),
		Leaking.String(),
		HoldUndecided.String(),
		OneReading,
		PressureGained,
		TooShortHold,
		TooUncertain,
		NotALine,
		LargeSwing,
		VolumeUnknown,
		NoPressureOn,
		NitrogenOnly,
		UseRegulator,
		UseRelief,
		LowestNameplate,
		NameplateAsked,
		AboveNameplate,
		StandClear,
		NitrogenAir,
		DryAndTight.String(),
		RiseLeak.String(),
		RiseMoisture.String(),
		RiseBoth.String(),
		CannotProveDry.String(),
		FewPoints,
		LineOrLevelling,
		LeakNotExcluded,
		MoistureNotExcluded,
		HoldNotOver,
		TargetNotReached,
		AboveAccept,
		AboveWaterCeiling,
		PressureFalls,
		ColdestUnknown,
		TooColdForDry,
		SmallStraightRise,
		NeverDecides,
		NoteSeveralColumns,
		NoteOrderBySequence,
		NoteUnsorted,
		NoteNewestFirst,
		NoteDuplicates,
		NoteDuplicateDiffer,
		NoteMissing,
		NoteGaps,
		NoteClockBack,
		NoteClockForward,
		NoteNoSuchTime,
		NoteRejected,
		NoteRelative,
		FoodDecision,
		NeedDevice,
		NeedAccuracy,
		NeedVerification,
		NeedPlace,
		NeedOffset,
		NeedFood,
		NeedRepair,
		NeedSigned,
	}
}
