package text

// trials are the words for standing pressure, vacuum rise and cold record. What the cautions say is common to
// published procedures (ASHRAE 15, UFGS 15182); sentences are ours.
var trials = map[string]phrase{
	// Standing pressure.
	"tight_within": {"Tight, as far as this test can see.", "Hermético, hasta donde alcanza esta prueba."},
	"leaking": {
		"It leaks. More gas is gone than gauge and thermometer can explain.",
		"Hay fuga. Falta más gas del que pueden explicar manómetro y termómetro.",
	},
	"undecided": {"Not decided yet.", "Aún sin decidir."},
	"one_reading": {
		"One look shows no change. Read again after at least an hour.",
		"Una sola lectura no muestra cambio. Lea otra vez después de una hora como mínimo.",
	},
	"pressure_gained": {
		"There is more pressure than temperature explains. Is the cylinder still open to it, or the thermometer off?",
		"Hay más presión de la que explica la temperatura. ¿Sigue abierto el cilindro, o falla el termómetro?",
	},
	"hold_too_short": {
		"Hold longer: a leak of the size asked about would not show yet.",
		"Espere más: una fuga del tamaño buscado aún no se vería.",
	},
	"hold_too_uncertain": {
		"Holding longer does not help. A finer gauge or a steadier temperature does.",
		"Esperar más no ayuda. Ayuda un manómetro más fino o una temperatura más estable.",
	},
	"not_a_straight_line": {
		"The loss does not run in a straight line. Was gas added, a part shut off, or had it not settled after filling?",
		"La pérdida no sigue una recta. ¿Se añadió gas, se aisló una parte, o no se había asentado tras llenar?",
	},
	"large_temperature_swing": {
		"Temperature moved so much that it limits what this test can see. Hold in the shade or overnight.",
		"La temperatura varió tanto que limita la prueba. Hágala a la sombra o de noche.",
	},
	"volume_unknown": {
		"Give the volume under test to have the leak in grams a year.",
		"Indique el volumen en prueba para tener la fuga en gramos por año.",
	},
	"no_pressure_on": {
		"There is no pressure above the atmosphere that would drive a leak.",
		"No hay presión sobre la atmosférica que impulse una fuga.",
	},
	"nitrogen_only": {
		"Dry nitrogen only. Never oxygen, never air: with oil they explode.",
		"Solo nitrógeno seco. Nunca oxígeno ni aire: con aceite explotan.",
	},
	"nitrogen_regulator": {"Through a regulator with a gauge on its outlet.", "A través de un regulador con manómetro a la salida."},
	"nitrogen_relief": {
		"A relief device behind the regulator, set above the test pressure and below what any part bears.",
		"Un dispositivo de alivio tras el regulador, ajustado por encima de la presión de prueba y por debajo de lo que soporta cualquier parte.",
	},
	"lowest_nameplate": {
		"Never above the lowest test pressure on the plates of all parts under pressure; the low side is often the lower one.",
		"Nunca por encima de la presión de prueba más baja de las placas de todas las partes bajo presión; el lado de baja suele ser el menor.",
	},
	"nameplate_not_given": {
		"Read the plates before you pressurise. Without them nothing says how much this circuit bears.",
		"Lea las placas antes de presurizar. Sin ellas nada dice cuánto soporta este circuito.",
	},
	"above_lowest_nameplate": {
		"The pressure stood above the lowest plate. Let it down now and have the part checked.",
		"La presión superó la placa más baja. Bájela ahora y haga revisar esa parte.",
	},
	"nitrogen_stand_clear": {
		"Raise it in steps, stand clear while it rises, and let it down slowly outdoors.",
		"Suba por etapas, manténgase apartado mientras sube y descargue despacio al exterior.",
	},
	"nitrogen_ventilate": {
		"Nitrogen pushes the air out of a box without warning. Ventilate before you go in.",
		"El nitrógeno desplaza el aire de la cámara sin aviso. Ventile antes de entrar.",
	},
	// Vacuum rise.
	"dry_and_tight": {"Dry and tight.", "Seco y hermético."},
	"leak":          {"It leaks: the vacuum is lost in a straight line.", "Hay fuga: el vacío se pierde en línea recta."},
	"moisture": {
		"Moisture: the rise levels off. Warm it, break the vacuum with nitrogen, pump again.",
		"Humedad: la subida se estabiliza. Caliente, rompa el vacío con nitrógeno y vuelva a evacuar.",
	},
	"both": {
		"A leak, and moisture as well. Find the leak first.",
		"Una fuga y además humedad. Busque primero la fuga.",
	},
	"cannot_prove_dry": {"Tight, but dryness is not proven.", "Hermético, pero no queda probado que esté seco."},
	"fewer_than_four_readings": {
		"Four readings at least, a minute or more apart.",
		"Cuatro lecturas como mínimo, separadas un minuto o más.",
	},
	"line_or_levelling": {
		"Too early to tell a leak from moisture: the curve has not bent or stayed straight long enough.",
		"Es pronto para distinguir fuga de humedad: la curva aún no se ha doblado ni ha seguido recta lo bastante.",
	},
	"leak_not_excluded": {
		"Moisture for sure; a leak behind it cannot be ruled out yet.",
		"Humedad segura; aún no se descarta una fuga detrás.",
	},
	"moisture_not_excluded": {
		"A leak for sure; moisture behind it cannot be ruled out yet.",
		"Fuga segura; aún no se descarta humedad detrás.",
	},
	"hold_not_over": {
		"Good so far. Keep standing until the time asked for is over.",
		"Bien hasta ahora. Siga hasta cumplir el tiempo pedido.",
	},
	"target_not_reached": {
		"The criterion asks for a deeper vacuum before the valve is shut.",
		"El criterio pide un vacío más profundo antes de cerrar la válvula.",
	},
	"final_above_accept": {
		"It stands, but higher than accepted. Pump deeper, then watch again.",
		"Se mantiene, pero más alto de lo aceptado. Evacúe más y observe de nuevo.",
	},
	"levels_above_ceiling": {
		"It levels off higher than water at the coldest part can stand. Refrigerant boiling out of the oil, or that part is warmer than said.",
		"Se estabiliza más alto de lo que permite el agua en la parte más fría. Sale refrigerante del aceite, o esa parte está más caliente " +
			"de lo dicho.",
	},
	"pressure_falls": {
		"The pressure falls by itself. Is the pump still open to it, or the gauge warming up?",
		"La presión baja sola. ¿Sigue abierta la bomba, o se está calentando el vacuómetro?",
	},
	"coldest_unknown": {
		"Without the temperature of the coldest part nothing says that it is dry.",
		"Sin la temperatura de la parte más fría nada dice que esté seco.",
	},
	"too_cold_for_dry": {
		"Ice at the coldest part would stand as low as this. Warm that part and watch again.",
		"El hielo en la parte más fría se mantendría así de bajo. Caliente esa parte y observe de nuevo.",
	},
	"small_straight_rise": {
		"A small part of the rise is straight. Under what is asked, but worth a look at the joints.",
		"Una pequeña parte de la subida es recta. Bajo lo pedido, pero conviene mirar las uniones.",
	},
	"longer_does_not_help": {"Standing longer would not decide it.", "Esperar más no lo decidiría."},
	// Cold record.
	"several_temperature_columns": {
		"Several columns are temperatures; the first that looks like air was judged.",
		"Varias columnas son temperaturas; se juzgó la primera que parece aire.",
	},
	"date_order_by_sequence": {
		"Day and month were told apart by the order of the rows.",
		"Día y mes se distinguieron por el orden de las filas.",
	},
	"unsorted_rows":  {"Rows stand out of order and were sorted.", "Hay filas fuera de orden; se ordenaron."},
	"newest_first":   {"The file begins with the newest reading.", "El archivo empieza por la lectura más reciente."},
	"duplicate_rows": {"Rows stand there twice and were counted once.", "Hay filas repetidas; se contaron una vez."},
	"duplicate_times_differ": {
		"One time stands there with two values; the warmer counts.",
		"Una misma hora aparece con dos valores; cuenta el más caliente.",
	},
	"missing_readings": {"Rows without a reading were left out.", "Se omitieron filas sin lectura."},
	"gaps": {
		"The record has gaps. What happened in them is not known.",
		"El registro tiene huecos. No se sabe qué pasó en ellos.",
	},
	"clock_set_back": {
		"The logger's clock was set back by an hour, as at the end of summer time.",
		"El reloj del registrador se atrasó una hora, como al acabar el horario de verano.",
	},
	"clock_set_forward": {
		"The logger's clock was set forward by an hour, as at the start of summer time.",
		"El reloj del registrador se adelantó una hora, como al empezar el horario de verano.",
	},
	"time_skipped_by_clock": {
		"A time stands there that clocks of this place skip.",
		"Figura una hora que los relojes de este lugar se saltan.",
	},
	"rejected_rows": {"Rows that could not be read were set aside.", "Se apartaron filas ilegibles."},
	"times_in_minutes": {
		"Times are minutes since the start; the record has no dates.",
		"Los tiempos son minutos desde el inicio; el registro no tiene fechas.",
	},
	"operator_and_authority": {
		"Whether the food may be used is for its operator and the food authority.",
		"Si el alimento puede usarse lo deciden su operador y la autoridad sanitaria.",
	},
	"device_identity": {
		"Which logger it was, and whether it reads air or product.",
		"Qué registrador era, y si mide aire o producto.",
	},
	"device_accuracy": {"Its scale and stated accuracy.", "Su escala y exactitud declarada."},
	"device_last_verification": {
		"When it was last checked, and with what result.",
		"Cuándo se verificó por última vez y con qué resultado.",
	},
	"sensor_place": {
		"Where its sensor hung: warmest part, return air, or in which product.",
		"Dónde estaba el sensor: parte más caliente, aire de retorno o en qué producto.",
	},
	"time_offset": {"Which local time its clock showed.", "Qué hora local mostraba su reloj."},
	"food_disposition": {
		"What the operator did with the food: moved, cooked, discarded, when.",
		"Qué hizo el operador con el alimento: trasladado, cocinado, desechado, cuándo.",
	},
	"repair_and_pull_down": {
		"The repair, the pull-down after it and the time back within the limit.",
		"La reparación, el descenso posterior y la hora de vuelta dentro del límite.",
	},
	"who_signed": {"Who read it, with signature.", "Quién lo leyó, con firma."},
}

// TrialCodes lists the codes that have words, sorted.
func TrialCodes() []string { return keysOf(trials) }

// Trial is the sentence for a code of the standing-pressure test, the rise test or the cold record. A code without
// words is shown by its own name.
func Trial(code string, l Language) string {
	w, ok := trials[code]
	switch {
	case !ok:
		return plain(code) + "."
	case l == Spanish:
		return w.es
	}
	return w.en
}
