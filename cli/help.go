package cli

import (
	"strings"

	"coldwright/machine/reading"
	"coldwright/practice"
	"coldwright/proof/templog"
	"coldwright/proof/vacuum"
	"coldwright/say/text"
	"coldwright/wire"
)

// helpNames are the lists that help texts name as ${name}.
func helpNames() map[string]string {
	var profiles, limits []string
	for _, p := range vacuum.Profiles() {
		profiles = append(profiles, p.Key)
	}
	for _, l := range templog.FoodLimits() {
		limits = append(limits, l.Key)
	}
	var codes []string
	for _, l := range text.Languages() {
		codes = append(codes, string(l))
	}
	return map[string]string{
		"profiles":       strings.Join(profiles, ", "),
		"limits":         strings.Join(limits, ", "),
		"compared":       compared,
		"languages":      strings.Join(codes[:len(codes)-1], ", ") + " or " + codes[len(codes)-1],
		"language_codes": strings.Join(codes, ","),
		"benches":        strings.Join(practice.Machines(), ", "),
		"hold_columns":   "minute (or time), pressure_psig or pressure_kpa, gas_f or gas_c",
		"rise_columns":   "minute (or time) and micron or pa",
		"states": "pressure_kpa (absolute), temperature_c, enthalpy_kj_kg, entropy_kj_kg_k, vapour_mass_fraction, " +
			"density_kg_m3",
	}
}

// caseHelp lists the columns of a table of machines.
func caseHelp() string {
	out, line := "\n\nA table:\n  case_id,refrigerant,application,box_air_c,ambient_c,suction_pressure_kpa\n  a,R-404A,walk-in "+
		"freezer,-16,23,184\n\nColumns, all but refrigerant may be missing or empty:\n", " "
	list := wire.CaseColumns()
	for _, c := range list[:len(list)-3*len(reading.Places())] { // then come the readings, three each
		if len(line)+1+len(c) > 78 {
			out, line = out+line+"\n", " "
		}
		line += " " + c
	}
	return out + line + "\nand of a reading such as box_air its value, uncertainty and instrument:\n  box_air_c box_air_u " +
		"box_air_instrument; pressures _kpa (absolute), amps _a,\n  power _w; _u in kPa, K, A or W. Without a rating: amps_ratio."
}

var examples = map[string]string{
	"sat": "  coldwright sat R-404A --p 26psig\n  coldwright sat R-448A --t -10F --json\n  coldwright sat R-134a --table " +
		"pressures.csv\n\nA table:\n  pressure_kpa\n  292.8",
	"checks": "  coldwright checks call.json\n  coldwright checks --list\n\ncall.json:\n  {\"complaint\": \"hums_and_trips\", " +
		"\"machine\": {\"refrigerant\": \"R-404A\"},\n   \"found\": [{\"check\": \"start_volts\", \"answer\": \"98 %\"}]}",
	"state": "  coldwright state R-134a --p \"8 bar(a)\" --t 40C\n  coldwright state --composition \"R-32=0.7,R-125=0.3\" --p " +
		"\"10 bar(a)\" --x 0.5\n  coldwright state R-404A --table points.csv --out states.csv\n\nA table:\n  " +
		"pressure_kpa,enthalpy_kj_kg\n  800,420",
	"refrigerants": "  coldwright refrigerants --json",
	"fractionate":  "  coldwright fractionate R-407C --charge 4kg --volume 20L --t 25C --phase vapour --remove 50% --recharge",
	"diagnose": "  coldwright diagnose visit.json\n  coldwright diagnose --table cases.csv --out judged.csv\n\nA sheet:\n  " +
		"{\"machine\": {\"refrigerant\": \"R-404A\", \"application\": \"walk-in freezer\"},\n   \"readings\": [{\"at\": \"box_air\", " +
		"\"value\": \"3 F\"}, {\"at\": \"ambient\", \"value\": \"73 F\"},\n                {\"at\": \"suction_pressure\", \"value\": \"12 " +
		"psig\"}, {\"at\": \"discharge_pressure\", \"value\": \"203 psig\"}],\n   \"seen\": {\"glass\": \"bubbling\"}, \"running_min\": 45}" +
		caseHelp(),
	"pulldown": "  coldwright pulldown freezer.csv --setpoint -5F\n\nA table:\n  minute,box_f\n  0,9\n  18,3\n  26,1",
	"leakrate": "  coldwright leakrate rack.csv --full-charge 60lb --as-of 2026-11-25\n\nA table:\n  date,added,removed,reason\n  " +
		"2026-03-01,15 lb,,leak\n  2026-06-10,9 lb 8 oz,9 lb 2 oz,\n\n" +
		"Reasons: leak (also when empty), recharge, seasonal, installation, retrofit. A column same_leak, yes or no, says " +
		"whether an addition makes up the loss of the same leak as the one before.",
	"duties": "  coldwright duties rack.json --on 2026-11-25 --ics due.ics\n\nA machine:\n  {\"name\": \"Rack 1\", " +
		"\"jurisdiction\": \"US\", \"class\": \"commercial refrigeration\", \"refrigerant\": \"R-448A\",\n   \"full_charge\": \"60 lb\", " +
		"\"installed\": \"2019-05-01\",\n   \"events\": [{\"date\": \"2026-03-01\", \"kind\": \"added\", \"mass\": \"15 lb\", \"reason\": " +
		"\"leak\"},\n              {\"date\": \"2026-03-10\", \"kind\": \"repaired\"},\n              {\"date\": \"2026-03-11\", \"kind\": " +
		"\"initial_verification\", \"result\": \"passed\"}]}",
	"load": "  coldwright load room.json\n\nA room:\n  {\"room\": {\"t\": \"36 F\", \"rh\": \"90 %\"}, \"outside\": {\"t\": \"75 " +
		"F\", \"rh\": \"55 %\"},\n   \"box\": {\"length\": \"10 ft\", \"width\": \"8 ft\", \"height\": \"8 ft\", \"walls\": \"R-25\", " +
		"\"ceiling\": \"R-25\", \"floor\": \"bare slab\"},\n   \"doors\": [{\"width\": \"3 ft\", \"height\": \"6.5 ft\", \"passages_per_day\": " +
		"60, \"seconds_each\": 20}],\n   \"products\": [{\"per_day\": \"200 lb\", \"in\": \"45 F\", \"water\": \"85 %\"}], \"fans\": " +
		"[{\"power\": \"90 W\", \"hours_per_day\": 24}],\n   \"defrost\": {\"kind\": \"off-cycle\", \"minutes\": 40, \"per_day\": 4}, " +
		"\"machine\": {\"capacity\": \"6000 Btu/h\"}}",
	"charge": "  coldwright charge machine.json\n\nA machine:\n  {\"machine\": {\"refrigerant\": \"R-404A\", \"application\": " +
		"\"walk-in freezer\", \"head_control\": \"flooding\"},\n   \"nameplate\": \"9 lb 8 oz\", \"at\": {\"ambient\": \"84 F\", \"coldest\": " +
		"\"0 F\"},\n   \"parts\": [{\"kind\": \"liquid line\", \"size\": \"1/2 in\", \"length\": \"60 ft\"}, {\"kind\": \"condenser\", " +
		"\"volume\": \"6 L\"}],\n   \"in_before\": \"0 lb\", \"log\": [{\"cylinder\": \"C-1\", \"before\": \"30 lb\", \"now\": \"27 lb\", " +
		"\"tare\": \"14 lb\"}]}",
	"hold": "  coldwright hold standing.csv --volumes 20L --nameplate 300psig,450psig\n\nA table:\n  minute,pressure_psig,gas_f\n " +
		" 0,300,75\n  1440,288,55",
	"rise": "  coldwright rise vacuum.csv --volume 20L --coldest 50F --profile ufgs_15182\n\nA table:\n  minute,micron\n  0,280\n " +
		" 10,300\n  20,312\n  30,320\n  45,326\n  60,330",
	"cold-record": "  coldwright cold-record logger.csv --limit 41F --zone America/Denver\n  coldwright cold-record logger.csv " +
		"--save-layout logger.json",
	"practice": "  coldwright practice --level 2\n  coldwright practice --seed 2 --level 1 --json < answers.txt\n\nAnswers, one line " +
		"each:\n  box_air box_display ambient glass\n  liquid_line condenser_face_air\n  name condenser_recirculation clear_condenser_exhaust",
	"serve":   "  coldwright serve --demo\n  coldwright serve --data ~/coldwright --addr 127.0.0.1:8080",
	"report":  "  coldwright report 01930000-0000-7000-8000-000000000000 --data ~/coldwright --out visit.pdf",
	"export":  "  coldwright export --data ~/coldwright > events.jsonl",
	"import":  "  coldwright import events.jsonl --data ~/coldwright --dry-run",
	"backup":  "  coldwright backup --data ~/coldwright --out monday.backup",
	"restore": "  coldwright restore monday.backup --data ~/coldwright-again",
	"verify":  "  coldwright verify --data ~/coldwright",
	"version": "  coldwright version",
}
