package text

import (
	"strings"

	"coldwright/rules/law"
	"coldwright/rules/ledger"
	"coldwright/units"
)

// DutyWords are the words of one duty: its name and what to do.
type DutyWords struct{ Name, Do string }

type dutyEntry struct{ name, do phrase }

var dutyWords = map[string]dutyEntry{
	"scope": {
		phrase{"Does the rule cover it", "Si la norma lo abarca"},
		phrase{"Nothing to do while the rule does not cover this machine.", "Nada que hacer mientras la norma no abarque esta máquina."},
	},
	"leak_rate": {
		phrase{"Leak rate", "Tasa de fuga"},
		phrase{"Calculate it every time refrigerant is added.", "Calcúlela cada vez que se añada refrigerante."},
	},
	"leak_repair": {
		phrase{"Repair the leak", "Reparar la fuga"},
		phrase{
			"A certified technician finds and repairs the leaks, so that the rate comes under the limit.",
			"Un técnico certificado localiza y repara las fugas, hasta que la tasa baje del límite.",
		},
	},
	"initial_verification": {
		phrase{"First test of the repair", "Primera prueba de la reparación"},
		phrase{
			"Test every repaired place before more refrigerant goes in; write down place, test and result.",
			"Pruebe cada punto reparado antes de añadir más refrigerante; anote lugar, prueba y resultado.",
		},
	},
	"follow_up_verification": {
		phrase{"Second test of the repair", "Segunda prueba de la reparación"},
		phrase{
			"Test the repaired places again under normal running; write down place, test and result.",
			"Pruebe de nuevo los puntos reparados en marcha normal; anote lugar, prueba y resultado.",
		},
	},
	"leak_inspection": {
		phrase{"Leak inspection", "Inspección de fugas"},
		phrase{
			"Search all parts that can be seen and reached, with a method that finds the place.",
			"Busque en todas las partes visibles y accesibles, con un método que localice el punto.",
		},
	},
	"retrofit_plan": {
		phrase{"Plan to convert or retire", "Plan de reconversión o retirada"},
		phrase{
			"The repair was not proven in time: write the plan to convert or retire the machine.",
			"La reparación no se demostró a tiempo: redacte el plan para reconvertir o retirar la máquina.",
		},
	},
	"retrofit_done": {
		phrase{"Carry out the plan", "Ejecutar el plan"},
		phrase{"Convert or retire the machine as planned.", "Reconvierta o retire la máquina según el plan."},
	},
	"chronic_leak_report": {
		phrase{"Report of a chronic leaker", "Informe de fuga crónica"},
		phrase{
			"Report what was lost in the year and what was done to find and repair it.",
			"Informe de lo perdido en el año y de lo hecho para localizar y reparar.",
		},
	},
	"detection_audit": {
		phrase{"Check of the leak detector", "Comprobación del detector de fugas"},
		phrase{
			"Audit or calibrate the automatic leak detection and write it down.",
			"Revise o calibre el detector automático de fugas y anótelo.",
		},
	},
	"automatic_detection": {
		phrase{"Automatic leak detection", "Detección automática de fugas"},
		phrase{
			"A machine of this size needs a system that detects leaks and alarms.",
			"Una máquina de este tamaño necesita un sistema que detecte fugas y avise.",
		},
	},
	"keep_records": {
		phrase{"Keep the records", "Conservar los registros"},
		phrase{
			"Keep every record of this machine at least up to the day named.",
			"Conserve todos los registros de esta máquina al menos hasta el día indicado.",
		},
	},
	"reclaimed_for_service": {
		phrase{"Reclaimed refrigerant for service", "Refrigerante regenerado para servicio"},
		phrase{
			"Service this kind of machine with reclaimed refrigerant.",
			"Dé servicio a este tipo de máquina con refrigerante regenerado.",
		},
	},
	"cylinder_heel": {
		phrase{"Empty the cylinder before it is given up", "Vaciar la botella antes de desecharla"},
		phrase{
			"Recover the heel of a disposable cylinder before it is discarded.",
			"Recupere el resto de una botella desechable antes de desecharla.",
		},
	},
	"recovery_level": {
		phrase{"Recover before opening", "Recuperar antes de abrir"},
		phrase{
			"Recover to this level and check that it holds before the circuit is opened or scrapped.",
			"Recupere hasta este nivel y compruebe que se mantiene antes de abrir o desechar el circuito.",
		},
	},
	"certified_technician": {
		phrase{"Certified technician", "Técnico certificado"},
		phrase{
			"Only certified people work on the circuit and buy its refrigerant.",
			"Solo personas certificadas trabajan en el circuito y compran su refrigerante.",
		},
	},
	"refillable_cylinders_only": {
		phrase{"Refillable cylinders only", "Solo cilindros rellenables"},
		phrase{
			"Cylinders that cannot be refilled are banned: do not buy, use or refill them.",
			"Los cilindros desechables están prohibidos: no los compre, use ni rellene.",
		},
	},
	"no_venting": {
		phrase{"No venting", "No liberar refrigerante"},
		phrase{"Never let refrigerant go on purpose: recover it.", "No libere refrigerante a propósito: recupérelo."},
	},
	"leak_check": {
		phrase{"Leak check", "Control de fugas"},
		phrase{"A certified person checks the machine for leaks.", "Una persona certificada controla si la máquina tiene fugas."},
	},
	"repair_without_delay": {
		phrase{"Repair the leak without delay", "Reparar la fuga sin demora"},
		phrase{"A leak that was found is repaired without undue delay.", "Una fuga detectada se repara sin demora indebida."},
	},
	"recheck_after_repair": {
		phrase{"Check again after the repair", "Nuevo control tras la reparación"},
		phrase{
			"A certified person checks the repaired place again, after the machine has run for a day.",
			"Una persona certificada controla de nuevo el punto reparado, tras un día de funcionamiento.",
		},
	},
	"service_ban": {
		phrase{"Refrigerant banned for service", "Refrigerante prohibido para servicio"},
		phrase{
			"New refrigerant of so high a warming potential may not be used to service machines.",
			"No se puede usar refrigerante nuevo de un potencial tan alto para dar servicio.",
		},
	},
}

// Duty returns the words of a duty; an unknown code shows itself.
func Duty(code string, l Language) DutyWords {
	w, ok := dutyWords[code]
	if !ok {
		return DutyWords{Name: UpperFirst(strings.ReplaceAll(code, "_", " "))}
	}
	return DutyWords{w.name.in(l), w.do.in(l)}
}

var dutyReasons = map[string]phrase{
	law.ReasonRetired:   {"The machine is retired.", "La máquina está retirada."},
	law.ReasonSubstance: {"The rule does not cover this refrigerant.", "La norma no abarca este refrigerante."},
	law.ReasonSmall:     {"The charge is under the limit of the rule.", "La carga está por debajo del límite de la norma."},
	law.ReasonSubsector: {"The rule does not cover this use.", "La norma no abarca este uso."},
	law.ReasonClass:     {"The rule does not cover this class of machine.", "La norma no abarca esta clase de máquina."},
	law.ReasonNotYet:    {"Not yet in force on the day asked.", "Aún no está en vigor en el día consultado."},
	law.ReasonChargeUnknown: {
		"The full charge is not known: write it on the plate.",
		"No se conoce la carga completa: anótela en la placa.",
	},
	law.ReasonGWPUnknown: {
		"No warming potential is on file for this refrigerant.",
		"No consta el potencial de calentamiento de este refrigerante.",
	},
	law.ReasonSubUnknown: {"It depends on the use, which is not said.", "Depende del uso, que no se indica."},
	law.ReasonNoAddition: {"No refrigerant was added to make up a loss.", "No se ha añadido refrigerante para reponer una pérdida."},
	law.ReasonNotOver:    {"The leak rate is not over the limit.", "La tasa de fuga no supera el límite."},
	law.ReasonOver:       {"The leak rate is over the limit.", "La tasa de fuga supera el límite."},
	law.ReasonMothballed: {
		"Mothballed: the clock stands still until refrigerant is added.",
		"Fuera de servicio: el plazo se detiene hasta que se añada refrigerante.",
	},
	law.ReasonWaitsInitial: {"It starts with the first test that is passed.", "Empieza con la primera prueba superada."},
	law.ReasonNoPlan:       {"No plan is needed.", "No hace falta un plan."},
	law.ReasonReleased:     {"A year under the limit has ended it.", "Un año por debajo del límite lo ha terminado."},
	law.ReasonDetection:    {"Automatic leak detection takes its place.", "La detección automática de fugas lo sustituye."},
	law.ReasonNoDetection:  {"There is no automatic leak detection.", "No hay detección automática de fugas."},
	law.ReasonNotChronic: {
		"Less was lost this year than must be reported.",
		"Este año se ha perdido menos de lo que obliga a informar.",
	},
	law.ReasonNothingRecorded: {"Nothing is on record yet.", "Aún no hay nada registrado."},
	law.ReasonHermetic: {
		"Hermetically sealed, labelled so and small enough.",
		"Sellada herméticamente, etiquetada así y lo bastante pequeña.",
	},
	law.ReasonCO2eSmall: {
		"The charge is under the limit by CO₂ equivalent or weight.",
		"La carga está por debajo del límite en CO₂ equivalente o peso.",
	},
	law.ReasonNoDate:   {"No day is on record to count from.", "No consta un día desde el que contar."},
	law.ReasonNoLeak:   {"No leak is on record.", "No consta ninguna fuga."},
	law.ReasonNoRepair: {"No repair is on record.", "No consta ninguna reparación."},
	law.ReasonAlways:   {"It holds at all times.", "Vale en todo momento."},
	law.ReasonGWPBelow: {
		"The warming potential is outside what this ban covers.",
		"El potencial de calentamiento queda fuera de esta prohibición.",
	},
	law.ReasonReclaimedOnly: {
		"Reclaimed or recycled refrigerant may still be used up to the day named.",
		"El refrigerante regenerado o reciclado puede usarse hasta el día indicado.",
	},
	law.ReasonBanned:       {"The ban is in force.", "La prohibición está en vigor."},
	law.ReasonOldInstall:   {"Installed before the rule reaches back.", "Instalada antes de lo que alcanza la norma."},
	law.ReasonWithoutDelay: {"No number of days is set: without undue delay.", "No se fija un número de días: sin demora indebida."},
	law.ReasonKeep:         {"Counted from the last thing on record.", "Se cuenta desde lo último registrado."},
	law.ReasonNoLevel: {
		"The pressure class cannot be computed for this refrigerant.",
		"No se puede calcular la clase de presión de este refrigerante.",
	},
}

// DutyReason is why a duty stands as it does.
func DutyReason(code string, l Language) string {
	if w, ok := dutyReasons[code]; ok {
		return w.in(l)
	}
	if code == "" {
		return ""
	}
	return UpperFirst(strings.ReplaceAll(code, "_", " ")) + "."
}

var dutyStates = map[law.State]phrase{
	law.Overdue: {
		"Overdue",
		"Vencido",
	},
	law.Open:          {"Open", "Abierto"},
	law.Unknown:       {"Not known", "No se sabe"},
	law.Met:           {"Done", "Cumplido"},
	law.NotApplicable: {"Does not apply", "No se aplica"},
}

// DutyState is a state in a word or two.
func DutyState(s law.State, l Language) string { return dutyStates[s].in(l) }

var trusts = map[law.Trust]phrase{
	law.Read: {"Read in the text of the rule.", "Leído en el texto de la norma."},
	law.SecondHand: {
		"Second hand: taken from a restatement, check the text.",
		"De segunda mano: tomado de una exposición ajena, compruebe el texto.",
	},
	law.FromMemory: {
		"From memory: not checked, read the text before you rely on it.",
		"De memoria: sin comprobar, lea el texto antes de confiar en ello.",
	},
}

// Trust says how far the numbers of a rule can be relied on.
func Trust(t law.Trust, l Language) string { return trusts[t].in(l) }

// NoClocks says why no clocks can be shown for a machine.
func NoClocks(l Language) string {
	return phrase{
		"The site has no time zone that says which rules hold. Correct the site to see them.",
		"El lugar no tiene una zona horaria que diga qué normas valen. Corrija el lugar para verlas.",
	}.in(l)
}

// NoRules says that no rules on file hold at a site.
func NoRules(l Language) string {
	return phrase{
		"The site says that none of the rules on file hold there. The authority there decides.",
		"El lugar dice que ninguna de las normas registradas vale allí. Decide la autoridad de allí.",
	}.in(l)
}

var jurisdictions = map[law.Jurisdiction]phrase{
	law.US: {
		"United States, federal",
		"Estados Unidos, federal",
	},
	law.EU: {"European Union", "Unión Europea"},
	law.GB: {"Great Britain", "Gran Bretaña"},
}

// Jurisdiction is whose rules hold, in words.
func Jurisdiction(j law.Jurisdiction, l Language) string { return jurisdictions[j].in(l) }

// LawCaution stands once wherever duties are shown.
func LawCaution(l Language) string {
	return phrase{
		"This is not legal advice; the local authority decides.",
		"Esto no es asesoramiento jurídico; decide la autoridad local.",
	}.in(l)
}

// DutyFacts is the numbers of a duty in a sentence, empty when it has none to tell.
func DutyFacts(d law.Duty, l Language) string {
	n := func(key string, decimals int) string { return tidyNumber(d.Args[key], decimals) }
	has := func(key string) bool { _, ok := d.Args[key]; return ok }
	switch {
	case has("annualizing_percent"):
		return l.in(phrase{
			"Annualized " + n("annualizing_percent", 1) + " %, rolling " + n("rolling_percent", 1) + " % of the full charge; limit " +
				n("limit_percent", 0) + " %.",
			"Anualizada " + n("annualizing_percent", 1) + " %, móvil " + n("rolling_percent", 1) + " % de la carga completa; límite " +
				n("limit_percent", 0) + " %.",
		})
	case has("lost_percent"):
		return l.in(phrase{
			n("lost_percent", 0) + " % of the full charge lost in the calendar year; reported from " + n("limit_percent", 0) + " %.",
			n("lost_percent", 0) + " % de la carga completa perdido en el año natural; se informa desde " + n("limit_percent", 0) + " %.",
		})
	case has("mmhg_absolute"):
		return l.in(phrase{n("mmhg_absolute", 0) + " mmHg absolute.", n("mmhg_absolute", 0) + " mmHg absolutos."})
	case has("inhg"):
		if d.Args["inhg"] == d.Args["inhg_before_1993"] {
			return l.in(phrase{n("inhg", 0) + " inHg of vacuum.", n("inhg", 0) + " inHg de vacío."})
		}
		return l.in(phrase{
			n("inhg", 0) + " inHg of vacuum; " + n("inhg_before_1993", 0) + " with a recovery machine made before 15 November 1993.",
			n("inhg", 0) + " inHg de vacío; " + n(
				"inhg_before_1993",
				0,
			) + " con una recuperadora fabricada antes del 15 de noviembre de 1993.",
		})
	case has("months"):
		s := l.in(phrase{"At least every " + n("months", 0) + " months", "Al menos cada " + n("months", 0) + " meses"})
		if has("co2e_t") {
			s += phrase{", for ", ", para "}.in(l) + n("co2e_t", 1) + " t CO₂e"
		}
		return s + "."
	case has("limit_gwp"):
		return l.in(
			phrase{
				"GWP " + n("gwp", 0) + ", limit " + n("limit_gwp", 0) + ".",
				"PCA " + n("gwp", 0) + ", límite " + n("limit_gwp", 0) + ".",
			},
		)
	case has("co2e_t"):
		return n("co2e_t", 2) + " t CO₂e."
	}
	return ""
}

// Sentences joins what is not empty.
func Sentences(list ...string) string {
	var out []string
	for _, s := range list {
		if s != "" {
			out = append(out, s)
		}
	}
	return strings.Join(out, " ")
}

// Appointment is a duty as an entry of a calendar; machine is how everyone calls it, or empty.
func Appointment(d law.Duty, machine string, l Language) (summary, description string) {
	w := Duty(d.Code, l)
	summary = w.Name
	if machine != "" {
		summary += ": " + machine
	}
	return summary, Sentences(
		w.Do,
		DutyFacts(d, l),
		DutyReason(d.Reason, l),
		d.Article+" ("+d.Edition+").",
		Trust(d.Trust, l),
		LawCaution(l),
	)
}

// DutyLate says how late a duty was met, empty when it was in time.
func DutyLate(d law.Duty, l Language) string {
	days, ok := d.Args["late_days"]
	if !ok {
		return ""
	}
	n := units.Fixed(days, 0)
	if days == 1 {
		return phrase{"One day late.", "Un día tarde."}.in(l)
	}
	return phrase{n + " days late.", n + " días tarde."}.in(l)
}

// tidyNumber prints a number with at most so many decimals.
func tidyNumber(v float64, decimals int) string {
	s := units.Fixed(v, decimals)
	if strings.Contains(s, ".") {
		s = strings.TrimRight(strings.TrimRight(s, "0"), ".")
	}
	return s
}

var ledgerKinds = map[ledger.Kind]phrase{
	ledger.Bought: {
		"Bought",
		"Comprado",
	},
	ledger.Opening: {"Held when the record began", "Existencia al empezar el registro"},
	ledger.Charge:  {"Charged", "Cargado"},
	ledger.TopUp: {
		"Topped up",
		"Repuesto",
	},
	ledger.Recover:  {"Recovered", "Recuperado"},
	ledger.Transfer: {"Moved between cylinders", "Trasvasado entre botellas"},
	ledger.Heel: {
		"Heel of a cylinder",
		"Resto de una botella",
	},
	ledger.SentAway:  {"Sent away", "Enviado"},
	ledger.Destroy:   {"Destroyed", "Destruido"},
	ledger.Loss:      {"Lost", "Perdido"},
	ledger.Counted:   {"Weighed", "Pesado"},
	ledger.Withdrawn: {"Taken back", "Anulado"},
}

// LedgerKind is a kind of entry of the refrigerant ledger.
func LedgerKind(k ledger.Kind, l Language) string { return ledgerKinds[k].in(l) }

var ledgerFindings = map[string]phrase{
	ledger.NegativeBalance: {
		"By the book more went out than ever came in: enter where it came from, or weigh it.",
		"Según el libro salió más de lo que entró: anote de dónde vino, o péselo.",
	},
	ledger.MixedCylinder: {
		"Two refrigerants in one cylinder: it cannot be reclaimed.",
		"Dos refrigerantes en una botella: no se puede regenerar.",
	},
	ledger.Contested: {
		"Two corrections of one entry: the later holds, please check.",
		"Dos correcciones de un asiento: vale la última, compruébelo.",
	},
	ledger.Orphan: {"A correction whose entry is not here.", "Una corrección cuyo asiento no está aquí."},
	ledger.Circular: {
		"Corrections that name each other: none of them counts.",
		"Correcciones que se nombran entre sí: ninguna cuenta.",
	},
}

// LedgerFinding is a sentence about something to look at in the ledger.
func LedgerFinding(code string, l Language) string { return ledgerFindings[code].in(l) }

var changes = map[string]phrase{
	law.ChangeSafety: {"Another safety class.", "Otra clase de seguridad."},
	law.ChangeMildly: {
		"Mildly flammable: rated parts, ventilation and the appliance standard decide whether it may go in.",
		"Ligeramente inflamable: componentes aptos, ventilación y la norma del aparato deciden si se puede usar.",
	},
	law.ChangeFlammable: {
		"Flammable or toxic: a machine that was not built for it must not get it.",
		"Inflamable o tóxico: no debe cargarse en una máquina que no se construyó para ello.",
	},
	law.ChangeSafetyNone: {
		"No safety class is on file: read the maker's data sheet.",
		"No consta la clase de seguridad: lea la ficha del fabricante.",
	},
	law.ChangeGWP: {"Another warming potential.", "Otro potencial de calentamiento."},
	law.ChangeGlide: {
		"Another glide: set the valve by dew, subcooling by bubble.",
		"Otro deslizamiento: ajuste la válvula por rocío y el subenfriamiento por burbuja.",
	},
	law.ChangePressure: {
		"Another pressure at 122 °F: check nameplate, relief and controls.",
		"Otra presión a 50 °C: compruebe placa, alivio y controles.",
	},
	law.ChangeRuleEnds:   {"A rule no longer covers the machine.", "Una norma deja de abarcar la máquina."},
	law.ChangeRuleBegins: {"A rule now covers the machine.", "Una norma pasa a abarcar la máquina."},
	law.ChangeBan:        {"The new refrigerant is under a ban on service.", "El nuevo refrigerante está prohibido para servicio."},
	law.ChangeMaker: {
		"The maker of compressor and machine must agree: oil, valve, label.",
		"El fabricante del compresor y de la máquina debe estar de acuerdo: aceite, válvula, etiqueta.",
	},
}

// Change is what a change of refrigerant would mean, in a sentence.
func Change(code string, l Language) string { return changes[code].in(l) }

// ChangeValues are the two sides of a change in brackets, or where it is written.
func ChangeValues(c law.Change) string {
	number := func(v *float64) string {
		switch {
		case v == nil:
			return "?"
		case c.Code == law.ChangePressure:
			return units.Fixed(*v/units.Bar, 1) + " bar(a)"
		case c.Code == law.ChangeGlide:
			return units.Fixed(*v, 1) + " K"
		}
		return units.Fixed(*v, 0)
	}
	switch {
	case c.A != nil || c.B != nil:
		return " (" + number(c.A) + " → " + number(c.B) + ")"
	case c.From != "" && c.To != "":
		return " (" + c.From + " → " + c.To + ")"
	case c.Where != "":
		return " (" + c.Where + ")"
	}
	return ""
}

// LawAssumed is what a duties answer took for granted, in a sentence.
func LawAssumed(code string, l Language) string {
	if w, ok := lawAssumed[code]; ok {
		return w.in(l)
	}
	return UpperFirst(strings.ReplaceAll(code, "_", " ")) + "."
}

var lawAssumed = map[string]phrase{
	"method_annualizing": {
		"The annualizing method is used, since none was chosen.",
		"Se usa el método anualizado, pues no se eligió ninguno.",
	},
	"jurisdiction_from_zone": {
		"Whose rules hold is a guess from the site's time zone; correct the site to say it.",
		"Qué normas valen es una suposición por la zona horaria del lugar; corrija el lugar para decirlo.",
	},
	"class_from_application": {"The class is taken from what the machine cools.", "La clase se deduce de lo que enfría la máquina."},
	"installed_year_only": {
		"Only the year of installation is known: counted from its first day.",
		"Solo se conoce el año de instalación: se cuenta desde su primer día.",
	},
	"installed_unreadable": {"The day of installation could not be read as a date.", "El día de instalación no se pudo leer como fecha."},
}
