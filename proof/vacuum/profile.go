package vacuum

import (
	_ "embed"

	"coldwright/fail"
	"coldwright/internal/strictjson"
)

//go:embed data/evacuation.json
var evacuationFile []byte

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

// Profiles lists the published evacuation criteria on file.
func Profiles() []Profile {
	var f struct {
		Profiles []Profile `json:"profiles"`
	}
	strictjson.Data(evacuationFile, &f)
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
	return Profile{}, fail.Of(fail.NotFound, "profile", "vacuum.no_criterion", fail.Args{"text": key, "keys": keys})
}
