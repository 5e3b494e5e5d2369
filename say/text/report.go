package text

import (
	"errors"
	"strconv"
	"strings"

	"coldwright/fail"
	"coldwright/machine/reading"
)

// reports are the sentences, headings and labels of the report; {1}, {2} … stand for what is put in.
var reports = map[string]phrase{
	// Head, foot and frame of the document.
	"service_report": {"Service report {1}", "Informe de servicio {1}"},
	"page_of":        {"Page {1} of {2}", "Página {1} de {2}"},
	"continued":      {"{1}, continued", "{1}, continuación"},
	"same_as_table":  {"The same as a table", "Lo mismo en una tabla"},
	"pdf":            {"PDF to print or send", "PDF para imprimir o enviar"},
	"language_name":  {"English", "Español"},
	"in_language":    {"This report in English", "Este informe en español"},
	"title":          {"Visit report, {1}", "Informe de la visita, {1}"},
	"back_to_visit":  {"Back to the visit", "Volver a la visita"},
	"site":           {"Site", "Lugar"},
	"machine":        {"Machine", "Máquina"},
	"date":           {"Date", "Fecha"},
	"mechanic":       {"Mechanic", "Técnico"},
	"sign_mechanic":  {"Mechanic, name and time", "Técnico, nombre y hora"},
	"sign_customer":  {"For the customer, name and time", "Por el cliente, nombre y hora"},
	"sign_named":     {"For the customer ({1}), name and time", "Por el cliente ({1}), nombre y hora"},
	"from_to":        {"{1} to {2}", "{1} a {2}"},
	"unless_stated":  {"{1} unless stated", "{1} si no se indica"},
	"sign_report":    {"Sign the report", "Firmar el informe"},
	"notes":          {"Notes", "Notas"},
	"photos":         {"Photos", "Fotos"},

	"wrong":  {"What was wrong", "Qué pasaba"},
	"done":   {"What was done", "Qué se hizo"},
	"proven": {"What is proven", "Qué está comprobado"},
	"do":     {"What you should do", "Qué debe hacer usted"},
	"clocks": {"Legal clocks that run", "Plazos legales en curso"},
	// Name, day, state, article and how far to trust it.
	"clock_line": {"{1}: by {2} ({3}). {4}", "{1}: hasta el {2} ({3}). {4}"},

	// Headline. {1} is the machine with its article.
	"cold_again": {"{1} is cold again.", "{1} está otra vez a su temperatura."},
	"cold_not_settled": {
		"{1} is cold again; its readings do not yet show that nothing else is wrong.",
		"{1} está otra vez a su temperatura; sus lecturas aún no muestran que no haya otra falla.",
	},
	"works": {"{1} works as it should.", "{1} funciona como debe."},
	"holds": {"{1} holds its temperature.", "{1} mantiene su temperatura."},
	"not_yet_proven": {
		"{1} was worked on and is not yet proven cold.",
		"{1} recibió servicio; aún no está comprobado que enfríe como debe.",
	},
	"needs_more_work": {"{1} needs more work.", "{1} necesita más trabajo."},
	"not_certain":     {"The cause is not certain.", "La causa no es segura."},
	"most_likely":     {"Most likely: {1}", "Lo más probable: {1}"},

	// What was wrong.
	"reported":       {"Reported: {1}", "Aviso del cliente: {1}"},
	"box_stood":      {"The box stood at {1}.", "La cámara estaba a {1}."},
	"box_stood_hold": {"The box stood at {1}; it must hold {2}.", "La cámara estaba a {1}; debe mantenerse a {2}."},
	"leak_found":     {"Leak found: {1}", "Fuga encontrada: {1}"},
	"display_high": {
		"The thermometer on the box read {1} too high: what it showed was not what the food had.",
		"El termómetro de la cámara marcaba {1} de más: lo que mostraba no era lo que tenían los alimentos.",
	},
	"display_low": {
		"The thermometer on the box read {1} too low: what it showed was not what the food had.",
		"El termómetro de la cámara marcaba {1} de menos: lo que mostraba no era lo que tenían los alimentos.",
	},
	"not_judged":   {"The readings could not be judged: {1}", "No se pudieron evaluar las lecturas: {1}"},
	"nothing_read": {"Nothing was read before the work.", "No se tomaron lecturas antes del trabajo."},

	// What was done.
	"took_out": {"Took {1} of refrigerant out into cylinders.", "Se recuperaron {1} de refrigerante en cilindros."},
	"charged":  {"Charged {1} by weight.", "Se cargaron {1} por peso."},
	"charged_plate": {
		"Charged {1} by weight; full charge on the plate is {2}.",
		"Se cargaron {1} por peso; la carga completa según la placa es {2}.",
	},
	"weighed_in":  {"Weighed refrigerant in by the scale: see below.", "Se cargó refrigerante con la báscula: vea abajo."},
	"looked_only": {"Looked and read only; nothing was changed.", "Solo se revisó y se leyó; no se cambió nada."},

	// What is proven.
	"all_stand":     {"All {1} readings stand where they should today", "Las {1} lecturas están hoy donde deben"},
	"some_stand":    {"{1} of {2} readings stand where they should today", "{1} de {2} lecturas están hoy donde deben"},
	"before_it_was": {"; before it was {1} of {2}", "; antes eran {1} de {2}"},
	"box_fell": {
		"The box fell from {1} to {2} in {3} minutes, doors shut.",
		"La cámara bajó de {1} a {2} en {3} minutos, con las puertas cerradas.",
	},
	"box_rose": {
		"The box rose from {1} to {2} in {3} minutes, doors shut.",
		"La cámara subió de {1} a {2} en {3} minutos, con las puertas cerradas.",
	},
	"not_reached": {"It had not reached {1} when we left.", "No había llegado a {1} cuando nos fuimos."},
	"box_at_end":  {"The box stood at {1} at the end.", "La cámara estaba a {1} al final."},
	"not_judged_after": {
		"The readings after the work could not be judged: {1}",
		"No se pudieron evaluar las lecturas después del trabajo: {1}",
	},
	"nothing_is_proven": {
		"Nothing is proven: no readings were taken after the work.",
		"Nada está comprobado: no se tomaron lecturas después del trabajo.",
	},

	// What you should do.
	"left_open": {
		"Have what the tests left open put right, and tested again, before the machine is relied on.",
		"Haga corregir lo que las pruebas dejaron pendiente, y probarlo de nuevo, antes de confiar en la máquina.",
	},
	"set_thermometer": {"Have the thermometer on the box set or replaced.", "Haga ajustar o cambiar el termómetro de la cámara."},
	"test_again": {
		"Have the repaired place tested again; the rules where you are may set a date.",
		"Haga probar de nuevo el lugar reparado; las normas de su localidad pueden fijar una fecha.",
	},
	"read_again": {
		"Read the box again within the next hours, and call if it does not reach {1}.",
		"Lea la cámara otra vez en las próximas horas y llame si no llega a {1}.",
	},
	"nothing_for_now": {
		"Nothing for now. Keep the door shut and the condenser clear.",
		"Nada por ahora. Mantenga la puerta cerrada y el condensador despejado.",
	},
	"above_limit": {
		"The box air was above its limit of {1} when we came.",
		"El aire de la cámara estaba por encima de su límite de {1} cuando llegamos.",
	},
	"above_set": {
		"The box air was above its set point of {1} when we came.",
		"El aire de la cámara estaba por encima de su ajuste de {1} cuando llegamos.",
	},
	"food_told": {"About the food we were told: {1}", "Sobre los alimentos nos dijeron: {1}"},
	"food_decides": {
		"Whether food can be served is for you and the local food authority to decide; when in doubt, do not serve it.",
		"Si los alimentos pueden servirse lo deciden usted y la autoridad sanitaria local; si hay duda, no los sirva.",
	},

	// Figures.
	"proof":        {"Before and after on one scale, {1}", "Antes y después en una misma escala, {1}"},
	"what_read":    {"What was read, {1}", "Lo que se leyó, {1}"},
	"pull":         {"Pull-down", "Descenso de temperatura"},
	"pull_caption": {"Box temperature with doors shut. {1}", "Temperatura de la cámara con las puertas cerradas. {1}"},
	"cycle_after":  {"The cycle after the work, pressure against enthalpy", "El ciclo después del trabajo, presión y entalpía"},
	"cycle_found":  {"The cycle as found, pressure against enthalpy", "El ciclo como se encontró, presión y entalpía"},

	// Tables.
	"readings":     {"Readings", "Lecturas"},
	"before":       {"Before", "Antes"},
	"after":        {"After", "Después"},
	"healthy_then": {"Healthy then", "Normal entonces"},
	"refrigerant":  {"Refrigerant", "Refrigerante"},
	"cylinder":     {"Cylinder", "Cilindro"},
	"out_of":       {"Out of machine", "Sale de la máquina"},
	"into":         {"Into machine", "Entra a la máquina"},
	"not_named":    {"not named", "sin nombre"},
	"more_in":      {"More in than out", "Entró de más"},
	"more_out":     {"More out than in", "Salió de más"},
	"as_much":      {"As much out as in", "Salió lo mismo que entró"},
	"more_went_in": {"{1} kg more went in than came out.", "Entraron {1} kg más de los que salieron."},
	"warms_like": {
		"If all of that was lost to the air, it warms like {1} t of CO₂ (GWP {2}).",
		"Si todo eso se perdió al aire, calienta como {1} t de CO₂ (PCA {2}).",
	},

	// Foot.
	"foot_refrigerant": {"Refrigerant {1}.", "Refrigerante {1}."},
	"foot_gauge":       {"Gauge pressures at {1} m altitude.", "Presiones manométricas a {1} m de altitud."},
	"foot_counted": {
		"Superheat and TD count from dew, subcooling from bubble temperature.",
		"Recalentamiento y DT se cuentan desde el rocío; subenfriamiento, desde la burbuja.",
	},
	"foot_learned": {
		"Bands cover 9 of 10 healthy visits of this machine at that hour's box and outside air.",
		"Las bandas abarcan 9 de cada 10 visitas sin falla de esta máquina con la cámara y el aire exterior de esa hora.",
	},
	"foot_design": {
		"Bands come from the design at that hour's box and outside air; no healthy visit of this machine is known yet.",
		"Las bandas vienen del diseño con la cámara y el aire exterior de esa hora; aún no se conoce una visita sin falla de esta máquina.",
	},
	"foot_assumed":   {"Assumed, since the plate does not say: {1}.", "Supuesto, porque la placa no lo dice: {1}."},
	"foot_program":   {"Program {1}.", "Programa {1}."},
	"foot_grade":     {"Refrigerant data grade {1}.", "Datos del refrigerante de grado {1}."},
	"foot_grade_why": {"Refrigerant data grade {1}: {2}.", "Datos del refrigerante de grado {1}: {2}."},
	"foot_priors":    {"How common each cause is: {1}", "Qué tan común es cada causa: {1}"},
	"shipped_rates": {
		"base rates and priors of causes: shipped catalogue",
		"frecuencias de las causas: catálogo incluido en el programa",
	},
	"rates_source": {
		"base rates of causes are judgement, anchored on published counts where a row names one",
		"las frecuencias son a criterio, apoyadas en conteos publicados donde la fila los nombra",
	},

	// Tests after the work.
	"test_tight":   {"Nitrogen test, {1}", "Prueba con nitrógeno, {1}"},
	"test_dry":     {"Vacuum rise, {1}", "Prueba de vacío, {1}"},
	"test_charge":  {"By the scale, {1}", "Carga con báscula, {1}"},
	"test_record":  {"Cold record {1}", "Registro de frío {1}"},
	"earlier_test": {"An earlier test: {1}", "Una prueba anterior: {1}"},
	"one_earlier":  {"One earlier test of this visit stays in the record.", "Una prueba anterior de esta visita queda en el registro."},
	"some_earlier": {
		"{1} earlier tests of this visit stay in the record.",
		"{1} pruebas anteriores de esta visita quedan en el registro.",
	},
	"held_nitrogen": {
		"The circuit held nitrogen under pressure for {1} without a loss that such a test can see.",
		"El circuito mantuvo nitrógeno a presión durante {1} sin una pérdida que la prueba pueda ver.",
	},
	"lost_nitrogen":   {"The circuit lost nitrogen in {1}: it still leaks.", "El circuito perdió nitrógeno en {1}: todavía hay fuga."},
	"lowest_plate":    {"Lowest test pressure on the plates: {1}.", "Presión de prueba más baja en las placas: {1}."},
	"nitrogen_figure": {"Nitrogen test, temperature taken out", "Prueba con nitrógeno, descontada la temperatura"},
	"stood_dry": {
		"Emptied to a vacuum, the circuit stood {1}: dry and tight.",
		"En vacío, el circuito se mantuvo {1}: seco y hermético.",
	},
	"vacuum_leaks": {"Under vacuum the circuit still leaks.", "En vacío, el circuito todavía tiene fuga."},
	"vacuum_moist": {"Under vacuum the circuit still holds moisture.", "En vacío, el circuito todavía tiene humedad."},
	"vacuum_dry_open": {
		"Under vacuum the circuit is tight; that it is dry is not proven.",
		"En vacío, el circuito es hermético; no está comprobado que esté seco.",
	},
	"vacuum_figure":   {"Vacuum rise", "Subida del vacío"},
	"held_to_plate":   {"Held against the plate: {1}.", "Comparado con la placa: {1}."},
	"logger_says":     {"The logger's record: {1}", "El registro de temperatura: {1}"},
	"logger":          {"Logger: {1}", "Registrador: {1}"},
	"sensor":          {"Sensor: {1}", "Sensor: {1}"},
	"file_kept":       {"File kept with this visit, SHA-256 {1}.", "Archivo guardado con esta visita, SHA-256 {1}."},
	"test_not_judged": {"Could not be judged: {1}", "No se pudo evaluar: {1}"},
	"program_failed":  {"the program failed", "falló el programa"},
	"clocks_failed": {
		"The legal clocks could not be reckoned: {1}",
		"No se pudieron calcular los plazos legales: {1}",
	},

	// What is kept and not shown.
	"left_out": {"What is not shown here", "Lo que aquí no se muestra"},
	"unread_one": {
		"One entry cannot be read by this version of the program. It is kept, and not shown here.",
		"Esta versión del programa no puede leer una anotación. Se conserva, pero aquí no se muestra.",
	},
	"unread_many": {
		"{1} entries cannot be read by this version of the program. They are kept, and not shown here.",
		"Esta versión del programa no puede leer {1} anotaciones. Se conservan, pero aquí no se muestran.",
	},
}

// Unread says that entries cannot be read by this program; nothing when all can.
func Unread(n int, l Language) string {
	switch n {
	case 0:
		return ""
	case 1:
		return Report("unread_one", l)
	}
	return Report("unread_many", l, strconv.Itoa(n))
}

// ReportCodes lists the codes of the report's sentences, sorted.
func ReportCodes() []string { return keysOf(reports) }

// Report is a sentence, heading or label of the report with its arguments put in. A code without words is shown by its own name.
func Report(code string, l Language, args ...string) string {
	if p, ok := reports[code]; ok {
		return p.put(l, args...)
	}
	return plain(code)
}

var theMachines = map[reading.Application]phrase{
	reading.ApplicationUnknown: {"The machine", "La máquina"},
	reading.Other:              {"The machine", "La máquina"},
	reading.WalkInCooler: {
		"The walk-in cooler",
		"La cámara de refrigeración",
	},
	reading.WalkInFreezer: {"The walk-in freezer", "La cámara de congelación"},
	reading.ReachInCooler: {
		"The reach-in cooler",
		"El refrigerador vertical",
	},
	reading.ReachInFreezer: {"The reach-in freezer", "El congelador vertical"},
	reading.PrepTable:      {"The prep table", "La mesa de preparación"},
	reading.DisplayCase:    {"The display case", "La vitrina refrigerada"},
	reading.IceMachine: {
		"The ice machine",
		"La máquina de hielo",
	},
	reading.AirConditioning: {"The air conditioning", "El aire acondicionado"},
}

// TheMachine names a machine by what it is for, with its article at the beginning of a sentence.
func TheMachine(a reading.Application, l Language) string {
	p, ok := theMachines[a]
	if !ok {
		p = theMachines[reading.ApplicationUnknown]
	}
	return p.in(l)
}

// MostLikely puts a cause's sentence for the customer behind "most likely".
func MostLikely(customer string, l Language) string {
	if l != English {
		return Report("most_likely", l, LowerFirst(customer))
	}
	for _, article := range []string{"The ", "One ", "Air ", "A "} {
		if strings.HasPrefix(customer, article) {
			customer = LowerFirst(customer)
			break
		}
	}
	return Report("most_likely", l, customer)
}

// GradeReason says why the data of a refrigerant have their grade; the engine's own words are English.
func GradeReason(reason string, l Language) string {
	for known, words := range lexicons[l].grades {
		if rest, ok := strings.CutPrefix(reason, known); ok {
			return words + rest
		}
	}
	return reason
}

// Failed says in one line what went wrong.
func Failed(err error, l Language) string {
	var e *fail.Error
	if !errors.As(err, &e) {
		return Report("program_failed", l)
	}
	return Voice{Language: l}.Mistake(err).Says
}
