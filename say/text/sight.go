package text

import (
	"strings"

	"coldwright/diagnose"
	"coldwright/verdict"
)

// Act is what to do about the cause a step names: of fans that stand still to find out why, not to clean.
func Act(s verdict.Step, l Language) string {
	switch s.Seen {
	case diagnose.CondenserFansStopped, diagnose.CoilFansStopped:
		return l.say("act.fans_stopped")
	}
	return Fault(s.Cause.String(), l).Act
}

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
