package text

// figures are the words in and beside drawings; {1}, {2} … stand for what is put in.
var figures = map[string]phrase{
	// Verdicts of a reading against its band.
	"in":      {"in", "bien"},
	"under":   {"under", "bajo"},
	"over":    {"over", "sobre"},
	"in_band": {"in band", "en su banda"},

	"range":  {"{1} to {2}", "{1} a {2}"},
	"ladder": {"Temperature ladder", "Escala de temperaturas"},
	"ladder_desc": {
		"Left what was read, right where this machine should stand today, in {1}.",
		"A la izquierda lo leído, a la derecha donde esta máquina debería estar hoy, en {1}.",
	},
	"ladder_in": {"In band: {1}.", "En su banda: {1}."},
	"ladder_learn": {
		"Left: read. Hatched: this machine when healthy, at today's box and outside air; 9 of 10 healthy visits fall inside. Bar: its " +
			"middle, from which degrees are counted.",
		"Izquierda: leído. Rayado: esta máquina cuando trabaja bien, con la cámara y el aire exterior de hoy; 9 de cada 10 visitas sin falla " +
			"caen dentro. Barra: el centro, desde donde se cuentan los grados.",
	},
	"ladder_plan": {
		"Left: read. Hatched: where the design puts this machine at today's box and outside air; no healthy visit is known yet, so the bands " +
			"are drawn dashed. Bar: the middle, from which degrees are counted.",
		"Izquierda: leído. Rayado: donde el diseño pone esta máquina con la cámara y el aire exterior de hoy; aún no se conoce una visita " +
			"sin falla, por eso las bandas van a trazos. Barra: el centro, desde donde se cuentan los grados.",
	},
	"read":    {"Read", "Leído"},
	"today":   {"Today", "Hoy"},
	"finding": {"Finding", "Resultado"},
	"given":   {"given", "dato"},

	"proof":      {"Before and after", "Antes y después"},
	"proof_desc": {"Before: {1}. After: {2}.", "Antes: {1}. Después: {2}."},
	"proof_caption": {
		"Hatched: where this machine stands when healthy at that hour's box and outside air. The arrows are the degrees it was off.",
		"Rayado: donde está esta máquina cuando trabaja bien, con la cámara y el aire exterior de esa hora. Las flechas son los grados de " +
			"diferencia.",
	},
	"before":        {"Before", "Antes"},
	"after":         {"After", "Después"},
	"healthy_then":  {"Healthy then", "Normal entonces"},
	"given_box":     {"box {1}", "cámara {1}"},
	"given_outside": {"outside {1}", "fuera {1}"},
	"count_in":      {"{1} in band", "{1} en su banda"},

	"pull":           {"Pull-down", "Descenso de temperatura"},
	"pull_desc":      {"Box temperature against minutes since the start.", "Temperatura de la cámara contra minutos desde el inicio."},
	"pull_from":      {"From {1} at minute {2} to {3} at minute {4}.", "De {1} en el minuto {2} a {3} en el minuto {4}."},
	"set_point":      {"Set point {1}.", "Ajuste {1}."},
	"minutes_start":  {"minutes since start", "minutos desde el inicio"},
	"set":            {"set", "meta"},
	"before_label":   {"{1} before", "{1} antes"},
	"after_label":    {"{1} after", "{1} después"},
	"now_label":      {"{1} now", "{1} ahora"},
	"dots_read":      {"Dots: read.", "Puntos: leído."},
	"dots_before":    {"Dots: before. Open squares: after.", "Puntos: antes. Cuadros vacíos: después."},
	"hatched_box":    {"Hatched: this box when healthy.", "Rayado: esta cámara cuando trabaja bien."},
	"white_going":    {"White: where it is going, 9 times in 10.", "Blanco: hacia dónde va, 9 de cada 10 veces."},
	"minute":         {"Minute", "Minuto"},
	"box_in":         {"Box, {1}", "Cámara, {1}"},
	"before_in":      {"Before, {1}", "Antes, {1}"},
	"after_in":       {"After, {1}", "Después, {1}"},
	"since_first":    {"{1} since the first reading", "{1} desde la primera lectura"},
	"since_pump_off": {"{1} since pump off", "{1} con bomba parada"},
	"days":           {"days", "días"},
	"hours":          {"hours", "horas"},
	"minutes":        {"minutes", "minutos"},
	"hold":           {"Standing pressure", "Presión en reposo"},
	"hold_desc": {
		"Pressure with temperature taken out against time. From {1}, changed by {2} in {3}.",
		"Presión, descontada la temperatura, contra el tiempo. Desde {1} cambió {2} en {3}.",
	},
	"hold_caption": {
		"Dots: read, temperature taken out. Thin line: nothing lost. White, dashed middle: where the pressure goes, 9 times in 10.",
		"Puntos: leído, descontada la temperatura. Línea fina: sin pérdida. Blanco, centro a trazos: hacia dónde va la presión, 9 de cada 10 " +
			"veces.",
	},
	"corrected": {"Corrected, {1}", "Corregida, {1}"},
	"rise":      {"Vacuum rise", "Subida del vacío"},
	"rise_desc": {
		"Vacuum against time since the pump was shut off. From {1} to {2} in {3}.",
		"Vacío contra el tiempo desde que se cerró la bomba. De {1} a {2} en {3}.",
	},
	"rise_caption": {
		"Dots: read. Line: the most likely rise. Dashed: its straight part alone, a leak. Between them: what levels off, moisture.",
		"Puntos: leído. Línea: la subida más probable. A trazos: solo su parte recta, una fuga. Entre ambas: lo que se estabiliza, humedad.",
	},
	"most":      {"most", "tope"},
	"vacuum_in": {"Vacuum, {1}", "Vacío, {1}"},
	"cold":      {"Cold record", "Registro de frío"},
	"cold_desc": {"Temperature against time. {1} From {2} to {3}.", "Temperatura contra el tiempo. {1} De {2} a {3}."},
	"cold_caption": {
		"Line: logged. Shaded: above the limit, defrosts left out. Flag: the limit.",
		"Línea: registrado. Sombreado: por encima del límite, sin los deshielos. Bandera: el límite.",
	},
	"forecast":      {"Forecast, {1}", "Pronóstico, {1}"},
	"low":           {"low", "bajo"},
	"likely":        {"likely", "probable"},
	"high":          {"high", "alto"},
	"after_minutes": {"after {1} min", "en {1} min"},
	"after_hours":   {"after {1} h", "en {1} h"},
}

// FigureCodes lists the codes of the words in drawings, sorted.
func FigureCodes() []string { return keysOf(figures) }

// Figure is a word or sentence in or beside a drawing with its arguments put in. A code without words is shown by its own name.
func Figure(code string, l Language, args ...string) string {
	if p, ok := figures[code]; ok {
		return p.put(l, args...)
	}
	return plain(code)
}
