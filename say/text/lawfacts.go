package text

import "coldwright/rules/law"

var lawEvents = map[string]phrase{
	string(law.Mothballed):       {"Mothballed: emptied and shut down for a while", "Puesta fuera de servicio por un tiempo, vaciada"},
	string(law.BackInService):    {"Back in service", "De nuevo en servicio"},
	string(law.PlanMade):         {"Conversion or retirement plan written", "Plan de reconversión o retirada redactado"},
	string(law.Retrofitted):      {"Converted as planned", "Reconvertida según el plan"},
	string(law.Retired):          {"Retired", "Retirada"},
	string(law.ReportSent):       {"Report sent to the authority", "Informe enviado a la autoridad"},
	string(law.DetectionStarted): {"Automatic leak detection fitted", "Detección automática de fugas instalada"},
	string(law.DetectionAudit): {
		"Automatic leak detection checked or calibrated",
		"Detección automática de fugas comprobada o calibrada",
	},
	"detection_removed":         {"Automatic leak detection taken out", "Detección automática de fugas retirada"},
	string(law.NormalOperation): {"Running normally again after the repair", "De nuevo en marcha normal tras la reparación"},
}

// LawEvent is something that happened to a machine that the rules count; an unknown code shows itself.
func LawEvent(code string, l Language) string {
	if w, ok := lawEvents[code]; ok {
		return w.in(l)
	}
	return plain(code)
}

var lawWords = map[string]phrase{
	string(law.Commercial):             {"Commercial refrigeration", "Refrigeración comercial"},
	string(law.Industrial):             {"Industrial process refrigeration", "Refrigeración de procesos industriales"},
	string(law.Comfort):                {"Comfort cooling", "Climatización"},
	"supermarket":                      {"Supermarket system", "Sistema de supermercado"},
	"refrigerated transport":           {"Refrigerated transport", "Transporte refrigerado"},
	"automatic commercial ice machine": {"Automatic commercial ice machine", "Máquina de hielo comercial automática"},
	"residential and light commercial air conditioning": {
		"Residential and light commercial air conditioning",
		"Aire acondicionado residencial y comercial ligero",
	},
	"other": {"None of these", "Ninguno de estos"},
}

// LawWord is a class or a use as the rules name it.
func LawWord(code string, l Language) string {
	if w, ok := lawWords[code]; ok {
		return w.in(l)
	}
	return plain(code)
}
