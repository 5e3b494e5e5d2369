package text

import (
	"strings"

	"coldwright/diagnose"
	"coldwright/verdict"
)

// SaidFirst says what is certain by itself, before anything the readings say; empty where nothing is.
func SaidFirst(j *verdict.Judgement, l Language) string {
	var out []string
	for _, s := range j.Sights {
		switch s.Code {
		case diagnose.HeadAtCutOut:
			out = append(out, l.say("sight.head_at_cut_out"))
		case diagnose.CondenserFansStopped:
			out = append(out, l.say("sight.condenser_fans_stopped"))
		case diagnose.CoilFansStopped:
			out = append(out, l.say("sight.coil_fans_stopped"))
		case diagnose.CondenserDirtHeavy:
			out = append(out, l.say("sight.condenser_dirt_heavy"))
		case diagnose.HeaterDraws:
			out = append(out, l.say("sight.defrost_heater_draws"))
		case diagnose.CoilIceHeavy:
			out = append(out, l.say("sight.coil_ice_heavy"))
		}
	}
	return strings.Join(out, " ")
}
