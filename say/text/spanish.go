package text

import "coldwright/machine/reading"

// lexicon holds the words of one language that stand in tables by code. What a language lacks is said in English.
type lexicon struct {
	faults       map[string]Words
	places       map[reading.Place]PlaceWords // without minutes
	saturated    map[reading.Place]string
	seen         map[string]SeenWords // without minutes
	instruments  map[reading.Instrument]string
	derived      map[string]string
	applications map[string]string
	expansions   map[string]string
	headControls map[string]string
	work         map[string]string
	assumed      map[string]string
	grades       map[string]string // how well the data of a refrigerant are known, by the engine's own words
}

// lexicons are the tables besides the English ones.
var lexicons = map[Language]lexicon{Spanish: spanish}

// one is the language asked for; none is English.
func one(lang []Language) Language {
	if len(lang) > 0 && lang[0] != "" {
		return lang[0]
	}
	return English
}

// spanish is the Spanish of the trade as it is spoken from Mexico to the south, addressed with usted.
var spanish = lexicon{
	faults: map[string]Words{
		"low_charge": {
			"Falta refrigerante",
			"No queda refrigerante suficiente para alimentar el evaporador.",
			"La máquina perdió refrigerante por una fuga.",
			"Busque marcas de aceite en uniones, tuercas y tubos con roce; después busque con el detector. Encuentre la fuga antes de añadir.",
			"menos de lo que necesita para alimentar el evaporador",
			"falta de refrigerante",
			"Encuentre la fuga antes de añadir.",
		},
		"over_charge": {
			"Demasiado refrigerante",
			"El líquido se queda en el condensador y le quita superficie.",
			"La máquina tiene más refrigerante del que necesita y por eso trabaja forzada.",
			"Compare lo que se cargó según el registro con la placa. Recupere por peso hasta la carga de la placa.",
			"del condensador está inundado",
			"exceso de refrigerante",
			"Recupere por peso hasta la carga de la placa.",
		},
		"condenser_air": {
			"Condensador sucio o con poco aire",
			"El condensador no puede soltar su calor.",
			"La parte que suelta el calor estaba sucia o con poco aire.",
			"Mire a través de las aletas con una lámpara; compruebe que cada ventilador gire y en el sentido correcto.",
			"del aire se pierde",
			"un condensador sucio",
			"Límpielo, revise sus ventiladores y lea otra vez.",
		},
		"condenser_recirculation": {
			"El aire caliente vuelve al condensador",
			"El condensador respira su propio aire caliente.",
			"La parte que suelta el calor respira su propio aire caliente.",
			"Mida el aire junto a la cara del condensador y luego lejos de la unidad. Busque paredes, cajas y tapas demasiado cerca.",
			"por encima del aire exterior en la cara",
			"aire caliente que vuelve al condensador",
			"Déle aire libre y lea otra vez.",
		},
		"coil_air": {
			"Evaporador con hielo o con poco aire",
			"Pasa muy poco aire por el evaporador.",
			"El evaporador de la cámara tenía hielo o poco aire.",
			"Mire detrás del evaporador si hay hielo o suciedad, cuente los ventiladores que giran, compruebe que el deshielo termine.",
			"del aire se pierde",
			"un evaporador con poco aire",
			"Quite el hielo, revise ventiladores y deshielo, y lea otra vez.",
		},
		"restriction_before_glass": {
			"Línea de líquido restringida antes de la mirilla",
			"El filtro deshidratador, un colador o una válvula antes de la mirilla retiene el líquido.",
			"Un filtro o una válvula de la tubería estaba tapado.",
			"Toque y mida con pinza ambos lados del filtro deshidratador. Compruebe que cada válvula de servicio esté abierta del todo.",
			"de presión perdida a pleno caudal",
			"un filtro deshidratador tapado",
			"Abra primero las válvulas de servicio; después cambie el filtro.",
		},
		"restriction_after_glass": {
			"Línea de líquido restringida después de la mirilla",
			"Algo entre la mirilla y la válvula de expansión retiene el líquido.",
			"Una válvula o un doblez en la tubería frenaba el paso.",
			"Revise el solenoide: bobina tibia, núcleo que sube, más frío después que antes. Busque un doblez o la malla de entrada tapada.",
			"de presión perdida a pleno caudal",
			"una restricción después de la mirilla",
			"Revise el solenoide y la malla de entrada.",
		},
		"valve_underfeeding": {
			"La válvula de expansión alimenta poco",
			"Llega líquido a la válvula, pero pasa muy poco.",
			"La válvula que alimenta el evaporador abría muy poco.",
			"Caliente el bulbo con la mano: la succión debe subir en menos de un minuto. Si no sube, revise la malla de entrada y luego el " +
				"elemento de potencia. La humedad se congela y cede al calentarla.",
			"de la abertura se pierde",
			"una válvula que alimenta poco",
			"Revise la malla y el elemento de potencia antes de mover el vástago.",
		},
		"valve_overfeeding": {
			"La válvula de expansión alimenta de más",
			"Regresa líquido por el evaporador.",
			"La válvula que alimenta el evaporador dejaba pasar demasiado.",
			"Compruebe que el bulbo esté firme sobre tubo limpio, aislado y en su lugar. Toque si el cuerpo del compresor está frío.",
			"más abertura de la debida",
			"una válvula que alimenta de más",
			"Revise el bulbo antes de mover el vástago.",
		},
		"compressor_valves": {
			"El compresor bombea mal",
			"El gas se regresa dentro del compresor.",
			"El compresor ya no bombea como debe.",
			"Cierre el lado de succión y vea hasta dónde baja y si se mantiene. No por debajo de lo que permite el fabricante, ni en todos los " +
				"tipos.",
			"del flujo da vueltas por dentro",
			"un compresor que bombea mal",
			"Compruébelo a mano antes de cambiarlo.",
		},
		"noncondensables": {
			"Aire o nitrógeno en el circuito",
			"En el condensador hay un gas que no se condensa.",
			"Había entrado aire en la tubería de la máquina.",
			"Con la máquina parada, deje que el condensador llegue a la temperatura exterior: la presión en reposo debe corresponder al " +
				"refrigerante a esa temperatura.",
			"de presión de alta de más",
			"aire en el circuito",
			"Recupere, haga vacío y cargue nuevo por peso.",
		},
		"suction_restriction": {
			"Línea de succión restringida",
			"El gas no puede volver libremente al compresor.",
			"El tubo de regreso al compresor estaba tapado en parte.",
			"Compare la presión a la salida del evaporador con la del compresor. Revise el filtro de succión, el regulador y si hay un doblez.",
			"entre evaporador y compresor",
			"una línea de succión restringida",
			"Encuentre la caída: filtro, regulador o doblez.",
		},
		"head_control_low": {
			"El control de alta la deja caer demasiado",
			"Con frío, la válvula recibe muy poca presión para alimentar.",
			"El control para tiempo frío no sostenía la presión.",
			"Averigüe a cuánto está ajustado y compárelo con la alta de ahora. Toque el desvío y observe los ventiladores.",
			"por debajo de su ajuste",
			"un control de alta ajustado muy bajo",
			"Compare su ajuste con la placa.",
		},
		"head_control_high": {
			"El control de alta la mantiene demasiado alta",
			"El control sostiene la alta sin que nada lo pida.",
			"El control para tiempo frío seguía actuando cuando no debía.",
			"Toque el desvío: si está caliente, está pasando ahora. Compruebe que con calor funcionen todos los ventiladores.",
			"por encima de su ajuste",
			"un control de alta que no suelta",
			"Compare su ajuste con la placa.",
		},
		"excess_load": {
			"Más carga térmica de la que puede la máquina",
			"La máquina trabaja como fue hecha, pero entra demasiado calor.",
			"La máquina funciona, pero entra más calor del que puede sacar.",
			"Revise la puerta, la cortina, el producto caliente, resistencias de deshielo que quedan encendidas y personas trabajando adentro.",
			"de su capacidad entra de más",
			"más carga térmica de la que puede",
			"Revise la puerta, el producto y el deshielo antes de tocar el circuito.",
		},
		"composition_shift": {
			"La mezcla cambió por la fuga",
			"Una parte de la mezcla se fugó más que las otras.",
			"El refrigerante que queda en la máquina ya no es la mezcla correcta.",
			"Compare la presión en reposo con el refrigerante de la placa a esa temperatura. Si no corresponde, recupere todo y cargue nuevo en " +
				"líquido.",
			"de cambio",
			"una mezcla que cambió",
			"Encuentre la fuga, recupere todo y cargue nuevo en líquido.",
		},
		"wrong_refrigerant": {
			"Refrigerante equivocado o mezclado",
			"Lo que hay en la máquina no se comporta como dice la placa.",
			"La máquina tiene otro refrigerante del que dice su placa.",
			"Compare la presión en reposo con la temperatura y pregunte qué se cargó. Manténgalo aparte: lo mezclado va en su propio cilindro.",
			"lejos del refrigerante de la placa",
			"un refrigerante equivocado",
			"Compruébelo con la presión en reposo y guarde aparte lo que recupere.",
		},
		"box_thermometer": {
			"El termómetro de la cámara marca mal", "El termómetro de la cámara no muestra la temperatura del aire.",
			"El termómetro de la cámara marca mal.",
			"Ponga su sonda calibrada junto al sensor, o ambos en agua con hielo.", "de error",
			"un termómetro de la cámara que marca mal", "Ajústelo o cámbielo, y diga al cliente desde cuándo.",
		},
		"suction_gauge": {
			"El manómetro de baja marca mal", "El manómetro de baja no muestra la presión.",
			"Uno de nuestros manómetros marcaba mal.",
			"Abra el manómetro al aire: debe marcar cero. Después compárelo con otro.", "de error",
			"un manómetro de baja que marca mal", "Ajuste el cero o tome otro, y lea otra vez.",
		},
		"discharge_gauge": {
			"El manómetro de alta marca mal", "El manómetro de alta no muestra la presión.",
			"Uno de nuestros manómetros marcaba mal.",
			"Abra el manómetro al aire: debe marcar cero. Después compárelo con otro.", "de error",
			"un manómetro de alta que marca mal", "Ajuste el cero o tome otro, y lea otra vez.",
		},
		"healthy": {
			"Sin falla", "Todas las lecturas están hoy donde deben.",
			"La máquina funciona como debe.",
			"Revise una vez más después del próximo deshielo.", "",
			"que no haya falla", "Guarde estas lecturas: son lo normal de esta máquina.",
		},
		"none_of_these": {
			"Ninguna de estas", "Ninguna causa de la lista explica todas las lecturas.",
			"Todavía no se encontró la causa.",
			"Antes de actuar, lea otra vez con otro instrumento el valor que peor encaja.", "",
			"algo que no está en la lista", "Lea otra vez el valor raro antes de actuar.",
		},
	},
	places: map[reading.Place]PlaceWords{
		reading.SuctionPressure: {
			Name:  "Baja",
			Label: "Presión de baja (succión), en el compresor",
			Hint:  "Manómetro en el lado de baja, con 15 minutos de marcha.",
			For:   "Dice a qué temperatura hierve el evaporador.",
		},
		reading.CoilPressure: {
			Name:  "Pres. evap.",
			Label: "Presión de succión, a la salida del evaporador",
			Hint:  "Toma de servicio junto al evaporador.",
			For:   "Muestra lo que se pierde entre evaporador y compresor.",
		},
		reading.DischargePressure: {
			Name:  "Alta",
			Label: "Presión de alta, en el compresor",
			Hint:  "Manómetro en el lado de alta, con 15 minutos de marcha.",
			For:   "Dice a qué temperatura trabaja el condensador.",
		},
		reading.LiquidPressure: {
			Name:  "Pres. líquido",
			Label: "Presión de líquido, después del filtro",
			Hint:  "Toma de servicio después del filtro deshidratador.",
			For:   "Muestra una caída de presión antes de la válvula.",
		},
		reading.StandingPressure: {
			Name:  "En reposo",
			Label: "Presión en reposo, máquina parada",
			Hint:  "Parada hasta que las presiones se igualen; solenoide de líquido abierto.",
			For:   "Dice si queda suficiente para buscar, y qué refrigerante es.",
		},
		reading.BoxAir: {
			Name:  "Aire cámara",
			Label: "Aire de la cámara, a la entrada del evaporador",
			Hint:  "Sonda en el aire que entra al evaporador, lejos de la puerta.",
			For:   "Dónde está la cámara; de ahí se cuenta todo lo demás.",
		},
		reading.CoilAirOff: {
			Name:  "Aire sal. evap.",
			Label: "Aire que sale del evaporador",
			Hint:  "Sonda en la corriente de aire, a un palmo del evaporador.",
			For:   "Muestra si el evaporador recibe su aire.",
		},
		reading.BoxDisplay: {
			Name:  "Indicador",
			Label: "El termómetro propio de la cámara",
			Hint:  "Léalo tal como está.",
			For:   "Se compara con su sonda: la gente se fía de él para la comida.",
		},
		reading.Ambient: {
			Name:  "Aire exterior",
			Label: "Aire que entra al condensador",
			Hint:  "A la sombra, lejos de su propio aire caliente.",
			For:   "De ahí se cuenta la alta.",
		},
		reading.CondenserFaceAir: {
			Name:  "Aire en cara",
			Label: "Aire junto a la cara del condensador",
			Hint:  "A un palmo delante de las aletas.",
			For:   "Muestra si vuelve el aire caliente.",
		},
		reading.CondenserAirOff: {
			Name:  "Aire sal. cond.",
			Label: "Aire que sale del condensador",
			Hint:  "En la corriente de aire, detrás del ventilador.",
			For:   "Muestra si el condensador recibe su aire.",
		},
		reading.CoilOutletLine: {
			Name:  "Salida evap.",
			Label: "Línea de succión, a la salida del evaporador",
			Hint:  "Pinza sobre tubo limpio junto al bulbo, aislada.",
			For:   "Con la succión da el recalentamiento con que trabaja la válvula.",
		},
		reading.SuctionLine: {
			Name:  "Línea succión",
			Label: "Línea de succión, en el compresor",
			Hint:  "Pinza a un palmo del compresor, aislada.",
			For:   "Muestra el calor ganado en el camino, o líquido que regresa.",
		},
		reading.DischargeLine: {
			Name:  "Descarga",
			Label: "Línea de descarga, cerca del compresor",
			Hint:  "Pinza a un palmo del compresor. Está caliente.",
			For:   "Muestra cuánto se esfuerza el compresor, y si regresa líquido.",
		},
		reading.LiquidLine: {
			Name:  "Línea líquido",
			Label: "Línea de líquido, a la salida de la unidad",
			Hint:  "Pinza en la línea de líquido después del condensador o del recibidor.",
			For:   "Con la alta da el subenfriamiento.",
		},
		reading.DrierIn: {
			Name:  "Antes del filtro",
			Label: "Línea de líquido, antes del filtro deshidratador",
			Hint:  "Pinza cerca de la entrada.",
			For:   "La mitad de la caída en el filtro.",
		},
		reading.DrierOut: {
			Name:  "Tras el filtro",
			Label: "Línea de líquido, después del filtro deshidratador",
			Hint:  "Pinza cerca de la salida. Compare con la de antes.",
			For:   "Una caída aquí dice que el filtro retiene el líquido.",
		},
		reading.Amps: {
			Name:  "Amperaje",
			Label: "Corriente del compresor",
			Hint:  "Una fase, con 15 minutos de marcha. Bloquee la energía antes de abrir la caja.",
			For:   "Muestra cuánto mueve el compresor.",
		},
		reading.Power: {
			Name:  "Potencia",
			Label: "Potencia del compresor",
			Hint:  "Todas las fases, con 15 minutos de marcha.",
			For:   "Cuenta junto a la potencia de una visita anterior con la máquina sana.",
		},
	},
	saturated: map[reading.Place]string{
		reading.SuctionPressure:   "Baja, sat.",
		reading.DischargePressure: "Alta, sat.",
		reading.CoilPressure:      "Evap., sat.",
		reading.LiquidPressure:    "Líquido, sat.",
		reading.StandingPressure:  "Reposo, sat.",
	},
	seen: map[string]SeenWords{
		"glass": {
			Name:    "Mirilla",
			Label:   "Mirilla",
			Hint:    "Después de 10 minutos de marcha.",
			For:     "Las burbujas dicen que llega poco líquido.",
			Answers: []Answer{{"clear", "Clara"}, {"bubbling", "Con burbujas"}, {"empty", "Vacía"}},
		},
		"condenser_dirt": {
			Name:    "Suciedad cond.",
			Label:   "Suciedad en el condensador",
			Hint:    "Mire a través de las aletas con una lámpara.",
			For:     "La suciedad le quita aire al condensador.",
			Answers: levelsES,
		},
		"coil_ice": {
			Name:    "Hielo evap.",
			Label:   "Hielo en el evaporador",
			Hint:    "Mire también por detrás.",
			For:     "El hielo le quita aire al evaporador.",
			Answers: levelsES,
		},
		"coil_fans": {
			Name:    "Vent. evap.",
			Label:   "Ventiladores del evaporador",
			Hint:    "Cuente los que giran.",
			For:     "Un ventilador parado le quita aire al evaporador.",
			Answers: fansES,
		},
		"condenser_fans": {
			Name:    "Vent. cond.",
			Label:   "Ventiladores del condensador",
			Hint:    "Cuente los que giran, y en qué sentido.",
			For:     "Un ventilador parado le quita aire al condensador.",
			Answers: fansES,
		},
		"receiver_level": {
			Name:    "Nivel recibidor",
			Label:   "Nivel del recibidor",
			Hint:    "Trapo mojado o lámpara; parte de su altura.",
			For:     "Muestra cuánta reserva queda.",
			Answers: []Answer{{"0", "Vacío"}, {"0.3", "Como un tercio"}, {"0.6", "Más de la mitad"}, {"0.9", "Casi lleno"}},
		},
		"oil_marks": {
			Name:    "Marcas de aceite",
			Label:   "Marcas de aceite en las uniones",
			Hint:    "Tuercas, codos en U, vástagos de válvulas, abrazaderas.",
			For:     "El aceite muestra por dónde sale el refrigerante.",
			Answers: marksES,
		},
		"frost_on_compressor": {
			Name:    "Escarcha comp.",
			Label:   "Escarcha en el compresor",
			Hint:    "En el cuerpo, no en la válvula de succión.",
			For:     "Escarcha ahí quiere decir que regresa líquido.",
			Answers: marksES,
		},
		"door": {
			Name:    "Puerta",
			Label:   "La puerta de la cámara",
			Hint:    "En el último cuarto de hora.",
			For:     "El aire caliente de la puerta altera toda lectura de la cámara.",
			Answers: []Answer{{"shut", "Cerrada"}, {"used", "En uso"}, {"open", "Quedó abierta"}},
		},
		"bypass_frost": {
			Name:    "Escarcha desvío",
			Label:   "Escarcha en el desvío",
			Hint:    "En la línea que pasa por fuera del condensador.",
			For:     "Muestra si el control de alta deja pasar líquido.",
			Answers: marksES,
		},
	},
	instruments: map[reading.Instrument]string{
		reading.DialGauge:      "Manómetro de aguja",
		reading.DigitalGauge:   "Manómetro digital",
		reading.Clamp:          "Pinza, aislada",
		reading.BareClamp:      "Pinza o termopar, sin aislar",
		reading.AirProbe:       "Sonda de aire",
		reading.BoxThermometer: "Termómetro de la cámara",
		reading.ClampMeter:     "Pinza amperimétrica",
		reading.ByHand:         "Aproximado, a mano",
	},
	derived: map[string]string{
		"superheat_k":              "Recal. evaporador",
		"coil_superheat_k":         "Recal. evaporador",
		"suction_superheat_k":      "Recal. compresor",
		"total_superheat_k":        "Recal. compresor",
		"discharge_superheat_k":    "Recal. descarga",
		"subcooling_k":             "Subenfriamiento",
		"liquid_subcooling_k":      "Subenfriamiento",
		"td_k":                     "DT del evaporador",
		"split_k":                  "DT del condensador",
		"compression_ratio":        "Relación de compresión",
		"coil_air_drop_k":          "Caída del aire en el evaporador",
		"air_drop_k":               "Caída del aire en el evaporador",
		"condenser_air_rise_k":     "Alza del aire en el condensador",
		"drier_drop_k":             "Caída en el filtro",
		"recirculation_k":          "Aire caliente en la cara",
		"suction_drop_k":           "Pérdida en la línea de succión",
		"suction_pressure_drop_pa": "Pérdida en la línea de succión",
		"approach_k":               "Líquido sobre el aire exterior",
		"amps_ratio":               "Amperaje contra el nominal",
		"box_display_error_k":      "Indicador contra la sonda",
		"suction_dew":              "Baja, sat.",
		"suction_dew_k":            "Baja, sat.",
		"coil_dew_k":               "Evap., sat.",
		"discharge_dew_k":          "Alta, sat.",
		"discharge_bubble_k":       "Alta, sat.",
		"standing_over_k":          "En reposo, sobre el refrigerante de la placa",
		"room_load":                "Carga de la cámara",
	},
	applications: map[string]string{
		"walk-in cooler":   "Cámara de refrigeración",
		"walk-in freezer":  "Cámara de congelación",
		"reach-in cooler":  "Refrigerador vertical",
		"reach-in freezer": "Congelador vertical",
		"prep table":       "Mesa de preparación",
		"display case":     "Vitrina refrigerada",
		"ice machine":      "Máquina de hielo",
		"air conditioning": "Aire acondicionado",
		"other":            "Otro",
	},
	expansions: map[string]string{
		"valve": "Válvula de expansión", "electronic valve": "Válvula electrónica", "orifice": "Orificio fijo", "capillary": "Tubo capilar",
	},
	headControls: map[string]string{
		"none":         "Ninguno",
		"flooding":     "Inunda el condensador",
		"fan cycling":  "Ventiladores por ciclos",
		"variable fan": "Ventiladores de velocidad variable",
	},
	work: map[string]string{
		"condenser_cleaned":     "Se limpió el condensador",
		"condenser_cleared":     "Se dio aire libre al condensador",
		"coil_defrosted":        "Se quitó el hielo del evaporador",
		"coil_cleaned":          "Se limpió el evaporador",
		"fan_repaired":          "Se reparó o cambió un ventilador",
		"defrost_set":           "Se ajustó el deshielo",
		"door_repaired":         "Se reparó la puerta o su empaque",
		"leak_found":            "Se encontró una fuga",
		"leak_repaired":         "Se reparó la fuga",
		"leak_rechecked":        "Reparación de fuga revisada de nuevo, hermética",
		"repair_tested":         "Reparación probada, primera prueba superada",
		"repair_tested_again":   "Reparación probada de nuevo en marcha, superada",
		"leak_inspected":        "Inspección de fugas de todas las partes",
		"joint_brazed":          "Se soldó una unión, con flujo de nitrógeno",
		"drier_replaced":        "Se puso un filtro deshidratador nuevo",
		"valve_set":             "Se ajustó la válvula de expansión",
		"valve_cleaned":         "Se limpió la malla de la válvula de expansión",
		"valve_replaced":        "Se cambió la válvula de expansión",
		"solenoid_replaced":     "Se cambió la válvula solenoide",
		"bulb_fixed":            "Se fijó y aisló el bulbo de la válvula",
		"compressor_replaced":   "Se cambió el compresor",
		"head_control_set":      "Se ajustó el control de alta",
		"pressure_tested":       "Prueba de presión con nitrógeno seco",
		"evacuated":             "Se hizo vacío",
		"refrigerant_recovered": "Se recuperó el refrigerante",
		"refrigerant_charged":   "Se cargó refrigerante",
		"thermometer_set":       "Se ajustó o cambió el termómetro de la cámara",
		"control_set":           "Se ajustó el control",
		"electrical_repaired":   "Se reparó una parte eléctrica",
		"product_moved":         "Se trasladó el producto",
		"advised":               "Se aconsejó al cliente",
		"other":                 "Otro trabajo",
	},
	assumed: map[string]string{
		"application":             "uso",
		"expansion":               "expansión",
		"receiver":                "recibidor",
		"head_control":            "control de alta",
		"design.box":              "cámara de diseño",
		"design.ambient":          "aire exterior de diseño",
		"design.td":               "DT del evaporador",
		"design.split":            "DT del condensador",
		"design.superheat":        "recalentamiento",
		"design.subcooling":       "subenfriamiento",
		"head_set":                "alta sostenida a",
		"exchanger_effectiveness": "intercambio de líquido a succión",
	},
	grades: map[string]string{
		"published equation of state":                 "ecuación de estado publicada",
		"every pair fitted with a departure function": "cada par ajustado con función propia",
		"every pair fitted to measurements":           "cada par ajustado a mediciones",
		"a pair rests on one parameter or on a general rule: approximate": "un par se apoya en un solo parámetro o en " +
			"una regla general: aproximados",
		"no published parameters for a pair: approximate": "sin parámetros publicados para un par: aproximados",
	},
}

var (
	levelsES = []Answer{{"none", "Nada"}, {"some", "Algo"}, {"heavy", "Mucho"}}
	marksES  = []Answer{{"none", "No hay"}, {"seen", "Hay"}}
	fansES   = []Answer{{"1", "Todos giran"}, {"0.5", "Algunos parados"}, {"0", "Ninguno"}}
)
