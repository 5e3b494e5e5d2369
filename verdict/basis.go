package verdict

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"io"
	"slices"
	"time"

	"coldwright/diagnose"
	"coldwright/machine/reading"
)

// Basis is what a judgement was formed on. Two judgements with the same Sheet were asked the same.
type Basis struct {
	Sheet   string   // sum over the sheet, see [SumOf]
	Used    []string // places of the readings it rests on
	LeftOut []LeftOut
	Reason  reading.Reason // why somebody came, which sets the odds
	Taught  Taught         // other machines that taught what is usual for one like it
	Entry   Entry          // of a recorded visit the last one it rests on
}

// Taught is how many other machines taught what is usual for one like the judged one, and how many of them stand where it does.
type Taught struct{ Machines, Here int }

// Entry is an entry of the record. The zero value: what was judged stands in none.
type Entry struct {
	ID, Device string
	Number     int64 // on its device
	At         time.Time
}

// LeftOut is a reading that does not count, and why.
type LeftOut struct {
	At  string
	Why LeftOutRule
}

// LeftOutRule names why a reading does not count.
type LeftOutRule string

// The rules.
const (
	LeftWrong   LeftOutRule = "instrument_proven_wrong"
	LeftAlone   LeftOutRule = "nothing_to_compare_with" // a current or power
	LeftOlder   LeftOutRule = "read_again"              // the later one at the same place counts
	LeftNoPlace LeftOutRule = "not_in_the_model"
	LeftDry     LeftOutRule = "coil_dry"     // a humidity, where the coil of such a machine is judged dry
	LeftNoBox   LeftOutRule = "box_not_read" // a humidity without the temperature of its air
)

// LeftOutRules lists them.
func LeftOutRules() []LeftOutRule {
	return []LeftOutRule{LeftWrong, LeftAlone, LeftOlder, LeftNoPlace, LeftDry, LeftNoBox}
}

// basis is what a posterior rests on: the readings of its sheet, without those of instruments proven wrong.
func basis(p *diagnose.Posterior, s reading.Sheet, wrong []Instrument) Basis {
	out := Basis{Sheet: SumOf(s), Reason: s.Reason}
	if l := s.Learned; l != nil {
		out.Taught = Taught{l.Machines, l.Here}
	}
	if p.Pull != nil { // the pull-down counts too
		h := sha256.New()
		_, _ = fmt.Fprintln(h, out.Sheet, p.Pull.Sum())
		out.Sheet = hex.EncodeToString(h.Sum(nil))
	}
	alone := func(at string) LeftOutRule {
		for _, f := range p.Warnings {
			if f.Code != diagnose.NotCompared || !slices.Contains(f.At, at) {
				continue
			}
			switch moist := at == reading.BoxHumidity.String() || at == reading.BoxWetBulb.String(); {
			case moist && f.Args["box_missing"] != 0:
				return LeftNoBox
			case moist && f.Args["coil_dry"] != 0:
				return LeftDry
			}
			return LeftAlone
		}
		return ""
	}
	for i, r := range s.Readings {
		at := r.At.String()
		later := slices.ContainsFunc(s.Readings[i+1:], func(x reading.Reading) bool { return x.At == r.At })
		switch {
		case later:
			out.LeftOut = append(out.LeftOut, LeftOut{at, LeftOlder})
		case takenOut(wrong, at):
			out.LeftOut = append(out.LeftOut, LeftOut{at, LeftWrong})
		case alone(at) != "":
			out.LeftOut = append(out.LeftOut, LeftOut{at, alone(at)})
		case !slices.Contains(p.Used, r.At):
			out.LeftOut = append(out.LeftOut, LeftOut{at, LeftNoPlace})
		default:
			out.Used = append(out.Used, at)
		}
	}
	return out
}

// SumOf is a sum over what a sheet says, whatever order its readings stand in and however they were typed.
//
//   - in: the sheet
//   - out: SHA-256 as hex digits
func SumOf(s reading.Sheet) string {
	h := sha256.New()
	sheetText(h, s)
	return hex.EncodeToString(h.Sum(nil))
}

// sheetText writes a sheet in one way: numbers with all their digits, a word for what is a word, nothing for what is not said.
func sheetText(w io.Writer, s reading.Sheet) {
	m := s.Machine
	say := func(key string, v any) { _, _ = fmt.Fprintf(w, "%s=%v\n", key, v) }
	say("visit_reason", s.Reason)
	say("refrigerant", m.Refrigerant)
	say("application", m.Application)
	say("expansion", m.Expansion)
	say("head_control", m.HeadControl)
	if m.Receiver != nil {
		say("receiver", *m.Receiver)
	}
	say("altitude", m.AltitudeM)
	opt(say, "barometer", m.Barometer)
	opt(say, "head_set", m.HeadSet)
	opt(say, "design_box", m.Design.Box)
	opt(say, "design_ambient", m.Design.Ambient)
	opt(say, "design_td", m.Design.TD)
	opt(say, "design_split", m.Design.Split)
	opt(say, "design_superheat", m.Design.Superheat)
	opt(say, "design_subcooling", m.Design.Subcooling)
	opt(say, "rated_amps", m.RatedAmps)
	opt(say, "locked_rotor_amps", m.LockedAmps)
	opt(say, "rated_power", m.RatedPower)
	opt(say, "rated_capacity", m.RatedCapacity)
	opt(say, "line_length", m.LineLength)
	opt(say, "lift", m.Lift)
	if m.Accumulator != nil {
		say("accumulator", *m.Accumulator)
	}
	opt(say, "exchanger", m.Exchanger)
	opt(say, "crankcase_regulator", m.CrankcaseRegulator)
	opt(say, "evaporator_regulator", m.EvaporatorRegulator)
	for _, at := range reading.Places() {
		for _, r := range s.Readings {
			if r.At == at {
				say(at.String(), fmt.Sprint(r.Value, " ", r.U, " ", r.Instrument))
			}
		}
	}
	for _, k := range reading.SeenKeys() {
		if word := s.Seen.Get(k); word != "" {
			say(k, word)
		}
	}
	opt(say, "running_min", s.RunningMin)
	opt(say, "since_defrost_min", s.SinceDefrostMin)
	if r := s.RoomLoad; r != nil {
		say("room_load", fmt.Sprint(r.Share, " ", r.U))
	}
	if l := s.Learned; l != nil {
		say("learned", fmt.Sprint(l.Machines, " ", l.Here))
		for t, u := range l.Of {
			if u.Spread > 0 {
				say("usual "+reading.Trait(t).String(), fmt.Sprint(u.Shift, " ", u.Spread))
			}
		}
	}
	for _, old := range s.HealthyVisits {
		_, _ = io.WriteString(w, "healthy visit\n")
		sheetText(w, old)
	}
}

// opt says a number where there is one, in SI.
func opt[T ~float64](say func(string, any), key string, v *T) {
	if v != nil {
		say(key, float64(*v))
	}
}
