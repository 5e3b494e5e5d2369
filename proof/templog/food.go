package templog

import (
	_ "embed"
	"slices"

	"coldwright/fail"
	"coldwright/internal/strictjson"
	"coldwright/units"
)

//go:embed data/food.json
var foodFile []byte

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
	strictjson.Data(foodFile, &f)
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
	return FoodLimit{}, fail.Of(fail.NotFound, "limit", "food.no_limit", fail.Args{"text": key, "keys": keys})
}

// RequiredTolerance is what the rule asks of a thermometer of the kind (product or air), K.
func RequiredTolerance(kind string) units.TempDiff {
	_, ts := food()
	i := slices.IndexFunc(ts, func(t Thermometer) bool { return t.Kind == kind })
	return units.TempDiff(ts[max(i, 0)].ToleranceC)
}
