package text

import "coldwright/leak"

func saidOr(m map[string]phrase, key string, l Language) string {
	if w, ok := m[key]; ok {
		return w.in(l)
	}
	return plain(key)
}

type leakPlace struct{ name, look phrase }

var leakPlaces = map[string]leakPlace{
	"service_port_high": {
		phrase{"Service ports, high side", "Puertos de servicio, lado de alta"},
		phrase{
			"Cores and caps; a cap without its seal hides a core that weeps.",
			"Núcleos y tapas; una tapa sin su junta oculta un núcleo que fuga.",
		},
	},
	"service_port_low": {
		phrase{"Service ports, low side", "Puertos de servicio, lado de baja"},
		phrase{"Cores and caps at the compressor and the coil.", "Núcleos y tapas en el compresor y en el evaporador."},
	},
	"valve_stem_high": {
		phrase{"Valve stems, high side", "Vástagos de válvula, lado de alta"},
		phrase{
			"Stem packing of the receiver and discharge valves; take the caps off.",
			"Prensaestopas de las válvulas del recibidor y de descarga; quite las tapas.",
		},
	},
	"valve_stem_low": {
		phrase{"Valve stem, suction", "Vástago de válvula, succión"},
		phrase{
			"Stem packing of the suction service valve; take the cap off.",
			"Prensaestopas de la válvula de servicio de succión; quite la tapa.",
		},
	},
	"flare_high": {
		phrase{"Flare nuts, high side", "Tuercas abocardadas, lado de alta"},
		phrase{
			"Drier, glass, liquid line: all round the nut, both ends.",
			"Filtro, visor, línea de líquido: alrededor de la tuerca, ambos extremos.",
		},
	},
	"flare_low": {
		phrase{"Flare nuts at the coil", "Tuercas abocardadas en el evaporador"},
		phrase{
			"Expansion valve, equaliser and suction; frost works them loose.",
			"Válvula de expansión, igualador y succión; la escarcha las afloja.",
		},
	},
	"unit_tube": {
		phrase{"Tubes at the unit", "Tubos en la unidad"},
		phrase{
			"Discharge and liquid tube where they shake, touch or pass metal.",
			"Tubos de descarga y de líquido donde vibran, rozan o cruzan metal.",
		},
	},
	"condenser_coil": {
		phrase{"Condenser coil", "Condensador"},
		phrase{"Tube sheet and bends; look for oil under the dirt.", "Placa de tubos y codos; busque aceite bajo la suciedad."},
	},
	"pressure_control_high": {
		phrase{"High-pressure control", "Presostato de alta"},
		phrase{"The thin tube along its whole way, and its bellows.", "El tubo capilar en todo su recorrido, y su fuelle."},
	},
	"pressure_control_low": {
		phrase{"Low-pressure control", "Presostato de baja"},
		phrase{"The thin tube along its whole way, and its bellows.", "El tubo capilar en todo su recorrido, y su fuelle."},
	},
	"compressor_body": {
		phrase{"Compressor body", "Cuerpo del compresor"},
		phrase{
			"Gaskets and the terminal plate from outside; never open the terminal cover under pressure.",
			"Juntas y placa de bornes desde fuera; nunca abra la tapa de bornes con presión.",
		},
	},
	"shaft_seal": {
		phrase{"Shaft seal", "Sello del eje"},
		phrase{
			"Below the seal of an open compressor, standing and turning.",
			"Debajo del sello de un compresor abierto, parado y girando.",
		},
	},
	"receiver_relief": {
		phrase{"Receiver and relief", "Recibidor y válvula de alivio"},
		phrase{"Relief outlet, fusible plug, welds and rust.", "Salida de alivio, tapón fusible, soldaduras y óxido."},
	},
	"accumulator": {
		phrase{"Accumulator", "Acumulador"},
		phrase{"Rust under insulation and at the foot.", "Óxido bajo el aislante y en la base."},
	},
	"drier": {
		phrase{"Filter-drier", "Filtro secador"},
		phrase{"Both joints and rust on the shell.", "Ambas uniones y óxido en el cuerpo."},
	},
	"sight_glass": {
		phrase{"Sight glass", "Visor"},
		phrase{"Round the glass and its two joints.", "Alrededor del cristal y de sus dos uniones."},
	},
	"solenoid": {
		phrase{"Liquid solenoid", "Solenoide de líquido"},
		phrase{"Stem tube, body seal and joints.", "Tubo del vástago, junta del cuerpo y uniones."},
	},
	"brazed_high": {
		phrase{"Brazed joints, liquid line", "Uniones soldadas, línea de líquido"},
		phrase{"Couplings and elbows; the far side with a mirror.", "Coples y codos; el lado oculto con un espejo."},
	},
	"brazed_low": {
		phrase{"Brazed joints, suction line", "Uniones soldadas, línea de succión"},
		phrase{"Ends of the insulation first: gas creeps along the pipe.", "Primero los extremos del aislante: el gas avanza por el tubo."},
	},
	"rubbed_line": {
		phrase{"Rubbed lines", "Líneas con roce"},
		phrase{"Clamps, wall passes and where two pipes touch.", "Abrazaderas, pasos de pared y donde dos tubos se tocan."},
	},
	"evaporator_bends": {
		phrase{"Evaporator bends", "Codos del evaporador"},
		phrase{"U-bends with the cover off, low ones first.", "Codos en U sin la tapa, primero los de abajo."},
	},
	"coil_ends": {
		phrase{"Coil ends and distributor", "Extremos y distribuidor del evaporador"},
		phrase{"Headers, distributor tubes, where tubes pass the end plate.", "Colectores, tubos del distribuidor, donde cruzan la placa."},
	},
}

var leakMethods = map[string]phrase{
	"oil":               {"Look for oil", "Buscar aceite"},
	"detector":          {"Electronic detector", "Detector electrónico"},
	"bubbles":           {"Bubbles", "Burbujas"},
	"ultrasonic":        {"Ultrasonic listener", "Detector ultrasónico"},
	"dye":               {"Dye and lamp", "Tinte y lámpara"},
	"trace_gas":         {"Hydrogen detector", "Detector de hidrógeno"},
	"standing_pressure": {"Standing pressure", "Prueba de presión"},
}

var leakCharges = map[string]phrase{
	"refrigerant": {"Refrigerant", "Refrigerante"},
	"nitrogen":    {"Dry nitrogen", "Nitrógeno seco"},
	"trace":       {"Nitrogen with 5 % hydrogen", "Nitrógeno con 5 % de hidrógeno"},
}

var leakWhy = map[string]phrase{
	leak.WhySignal: {"Something showed here. Make sure before you go on.", "Aquí apareció algo. Asegúrese antes de seguir."},
	leak.WhyBefore: {"This machine has leaked here before.", "Esta máquina ya tuvo una fuga aquí."},
	leak.WhyWorked: {"It was opened here lately.", "Se abrió aquí hace poco."},
	leak.WhyLikely: {"The likeliest place left.", "El lugar más probable que queda."},
	leak.WhyQuick:  {"Much chance for little time.", "Mucha probabilidad en poco tiempo."},
	leak.WhyNear:   {"You are there with the tool in hand.", "Ya está allí con la herramienta en la mano."},
}

var leakVerdicts = map[string]phrase{
	string(leak.Go): {"There is pressure enough to search.", "Hay presión suficiente para buscar."},
	string(leak.Pressurise): {
		"The pressure is too low to find a leak this small. Recover, then pressurise with dry nitrogen and search again.",
		"La presión es muy baja para hallar una fuga tan pequeña. Recupere, presurice con nitrógeno seco y busque de nuevo.",
	},
	string(leak.TooSmall): {
		"A leak this small would not show at the pressure allowed. Weigh the charge, note it, and compare at the next visit.",
		"Una fuga tan pequeña no se vería a la presión permitida. Pese la carga, anótela y compare en la próxima visita.",
	},
	string(leak.SearchedOut): {
		"One more round would hardly show it: it is hidden, somewhere else, or not there. Prove with nitrogen standing in it that it leaks " +
			"at all.",
		"Otra ronda apenas la mostraría: está oculta, en otro lugar o no existe. Compruebe con nitrógeno a presión si de verdad fuga.",
	},
}

var leakCautions = map[string]phrase{
	"wipe_clean_after": {"Wipe each mark clean, so that the next one is new.", "Limpie cada marca, para que la próxima sea nueva."},
	"probe_slow_and_close": {
		"Tip no more than 5 mm away, an inch or two a second, all the way round.",
		"Punta a no más de 5 mm, de 25 a 50 mm por segundo, todo alrededor.",
	},
	"go_on_after_first": {"Go on after the first find: there may be a second.", "Siga después del primer hallazgo: puede haber otro."},
	"air_clean": {
		"Fans off, air clear of refrigerant; blow the place clean and check again.",
		"Ventiladores apagados, aire sin refrigerante; sople el lugar y revise otra vez.",
	},
	"ignition_free": {
		"Flammable refrigerant: only a detector rated for it.",
		"Refrigerante inflamable: solo un detector apto para él.",
	},
	"wait_ten_minutes": {
		"Small leaks take minutes to raise a bubble: wait ten.",
		"Las fugas pequeñas tardan en dar burbuja: espere diez minutos.",
	},
	"no_chlorine_soap": {
		"Leak fluid, not dish soap: chlorides crack copper and brass.",
		"Líquido para fugas, no jabón: los cloruros agrietan cobre y latón.",
	},
	"quiet_place": {
		"It hears hissing leaks only; still the fans first.",
		"Solo oye fugas que silban; pare primero los ventiladores.",
	},
	"dye_allowed_by_maker": {
		"Dye only where the maker allows it, and never two kinds.",
		"Tinte solo donde el fabricante lo permite, y nunca dos tipos.",
	},
	"dye_earlier_visit": {
		"Dye shows what leaked since it went in; it needs days of running.",
		"El tinte muestra lo que fugó desde que entró; necesita días de marcha.",
	},
	"premixed_five_percent": {
		"Only the ready mixture of at most 5 % hydrogen in nitrogen. Never mix your own.",
		"Solo la mezcla lista con un máximo de 5 % de hidrógeno en nitrógeno. Nunca la mezcle usted.",
	},
	"never_oxygen":         {"Never oxygen or air: with oil they explode.", "Nunca oxígeno ni aire: con aceite explotan."},
	"regulator_and_relief": {"Regulator, relief and gauge on the cylinder.", "Regulador, alivio y manómetro en el cilindro."},
	"plate_test_pressure": {
		"Never above the test pressure on the plate; the low side has its own.",
		"Nunca por encima de la presión de prueba de la placa; el lado de baja tiene la suya.",
	},
}

var leakSafeguards = map[string]phrase{
	"lock_out": {
		"Lock out, measure that it is dead, discharge capacitors.",
		"Bloquee, compruebe sin tensión, descargue capacitores.",
	},
	"ventilate": {"Move the air before any flame; do not work alone.", "Ventile antes de cualquier llama; no trabaje solo."},
	"flammable_zone": {
		"It can burn: no ignition source, rated tools, detector on.",
		"Puede arder: sin fuentes de ignición, herramientas aptas, detector encendido.",
	},
	"recover_to_level": {"Recover to the level the rule asks for.", "Recupere hasta el nivel que exige la norma."},
	"verify_zero": {
		"Check that it holds: no pressure behind any closed valve.",
		"Compruebe que se mantiene: sin presión tras ninguna válvula cerrada.",
	},
	"purge_before_cut": {
		"It can burn: flush with nitrogen, evacuate, flush again, then cut.",
		"Puede arder: barra con nitrógeno, haga vacío, barra otra vez y corte.",
	},
	"open_path":     {"An open way to the air, so that nothing builds up.", "Una vía abierta al aire, para que no suba la presión."},
	"nitrogen_flow": {"Dry nitrogen flows gently while it is hot.", "Nitrógeno seco fluye suave mientras está caliente."},
	"fire_watch": {
		"Extinguisher at hand; watch half an hour after the last flame, an hour where the rule says so.",
		"Extintor a mano; vigile media hora tras la última llama, una hora donde lo exija la norma.",
	},
	"panel_watch": {
		"Foam panels smoulder unseen: shield them, feel both faces, watch longer.",
		"Los paneles de espuma arden sin verse: protéjalos, toque ambas caras, vigile más.",
	},
	"far_side":             {"See the far side of the joint in a mirror.", "Vea el lado oculto de la unión con un espejo."},
	"new_drier":            {"Fit a new filter-drier.", "Ponga un filtro secador nuevo."},
	"never_oxygen":         leakCautions["never_oxygen"],
	"regulator_and_relief": leakCautions["regulator_and_relief"],
	"plate_test_pressure":  leakCautions["plate_test_pressure"],
}

var leakStages = map[string]phrase{
	string(leak.Found):        {"Found, not yet confirmed", "Hallada, sin confirmar"},
	string(leak.NotConfirmed): {"No bubbles: not a leak", "Sin burbujas: no es fuga"},
	string(leak.Confirmed):    {"Confirmed by bubbles", "Confirmada con burbujas"},
	string(leak.Repaired):     {"Repaired, not yet re-checked", "Reparada, sin revisar"},
	string(leak.StillLeaking): {"Still leaks after the repair", "Sigue fugando tras la reparación"},
	string(leak.Rechecked):    {"Re-checked, tight", "Revisada, hermética"},
}

var leakActs = map[string]phrase{
	string(leak.ActFound):     {"Found", "Hallada"},
	string(leak.ActBubbles):   {"Confirmed by bubbles", "Confirmada con burbujas"},
	string(leak.ActNoBubbles): {"No bubbles here", "Sin burbujas aquí"},
	string(leak.ActRepaired):  {"Repaired", "Reparada"},
	string(leak.ActTight):     {"Re-checked: tight", "Revisada: hermética"},
	string(leak.ActLeaks):     {"Re-checked: still leaks", "Revisada: sigue fugando"},
}

// LeakPlace names a place of the leak catalogue; a place in a person's own words stays as it is.
func LeakPlace(key string, l Language) string {
	if p, ok := leakPlaces[key]; ok {
		return p.name.in(l)
	}
	return key
}

// LeakLook says where exactly to look at a place; empty for a place in a person's own words.
func LeakLook(key string, l Language) string {
	if p, ok := leakPlaces[key]; ok {
		return p.look.in(l)
	}
	return ""
}

// LeakMethod names a way of searching; a person's own words stay as they are.
func LeakMethod(key string, l Language) string {
	if w, ok := leakMethods[key]; ok {
		return w.in(l)
	}
	return key
}

// LeakCharge names what stands in the circuit during the search.
func LeakCharge(key string, l Language) string { return saidOr(leakCharges, key, l) }

// LeakWhy says why a place is next.
func LeakWhy(code string, l Language) string { return saidOr(leakWhy, code, l) }

// LeakVerdict says whether looking is worth it, and what else to do.
func LeakVerdict(v leak.Verdict, l Language) string { return saidOr(leakVerdicts, string(v), l) }

// LeakCaution is a reminder at a way of searching.
func LeakCaution(code string, l Language) string { return saidOr(leakCautions, code, l) }

// LeakSafeguard is a reminder at a step of the repair.
func LeakSafeguard(code string, l Language) string { return saidOr(leakSafeguards, code, l) }

// LeakStage says how far a leak has come.
func LeakStage(s leak.Stage, l Language) string { return saidOr(leakStages, string(s), l) }

// LeakAct is the label of what moves a leak on.
func LeakAct(a leak.Act, l Language) string { return saidOr(leakActs, string(a), l) }
