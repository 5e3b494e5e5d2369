package text

// words are the short words of loads and charges.
var words = map[string]phrase{
	"wall": {
		"walls",
		"paredes",
	},
	"ceiling": {"ceiling", "techo"},
	"floor":   {"floor", "suelo"},
	"slab":    {"slab on ground", "solera sobre terreno"},
	"glass":   {"glass", "cristal"},
	"infiltration": {
		"door, air coming in",
		"puerta, aire que entra",
	},
	"frost":   {"moisture freezing", "humedad que se congela"},
	"product": {"product", "producto"},
	"packaging": {
		"packaging",
		"embalaje",
	},
	"respiration": {"respiration", "respiración"},
	"people":      {"people", "personas"},
	"lights":      {"lights", "luces"},
	"fans": {
		"coil fans",
		"ventiladores del evaporador",
	},
	"motors":  {"motors", "motores"},
	"heaters": {"heaters", "resistencias"},
	"defrost": {"defrost", "desescarche"},
	"liquid line": {
		"liquid line",
		"línea de líquido",
	},
	"suction line":   {"suction line", "línea de succión"},
	"discharge line": {"discharge line", "línea de descarga"},
	"evaporator": {
		"evaporator",
		"evaporador",
	},
	"condenser":   {"condenser", "condensador"},
	"receiver":    {"receiver", "recipiente de líquido"},
	"drier":       {"drier", "filtro deshidratador"},
	"accumulator": {"suction accumulator", "acumulador de succión"},
}

// sentences are the findings and verdicts of loads and charges: the finding first, what to do last.
var sentences = map[string]phrase{
	"enough": {
		"The machine carries this box.",
		"La máquina puede con esta cámara.",
	},
	"box_too_much": {
		"The box is too much for the machine: even a sound one of its size would not carry it. Lower the load before you look for a fault.",
		"La cámara es demasiado para la máquina: ni una sana de su tamaño podría con ella. Baje la carga antes de buscar una avería.",
	},
	"machine_too_weak": {
		"The machine gives less than a sound one of its size, and that is too little for the box. Look for what it has lost.",
		"La máquina da menos que una sana de su tamaño y eso es demasiado poco para la cámara. Busque lo que ha perdido.",
	},
	"both": {
		"The box is too much, and the machine gives less than it should. Both want work.",
		"La cámara es demasiado y además la máquina da menos de lo debido. Hay que atender ambas cosas.",
	},
	"short": {
		"The machine does not carry the box, and these figures do not say which of the two is at fault.",
		"La máquina no puede con la cámara y estos datos no dicen cuál de las dos tiene la culpa.",
	},
	"undecided": {
		"Load and capacity are too close to call. Make the most doubtful item surer first.",
		"Carga y potencia están demasiado cerca para decidir. Primero asegure el dato más dudoso.",
	},
	"load_door_dominates": {
		"{share:percent} of the load comes through the door. A curtain, a closer and fewer openings change more than anything on the machine.",
		"El {share:percent} de la carga entra por la puerta. Una cortina, un cierre automático y abrir menos cambian más que cualquier cosa " +
			"en la máquina.",
	},
	"load_bare_slab_under_freezer": {
		"A freezer on a slab that lies on the ground freezes the soil below. Frost lifts the floor. Look for cracks and a door that binds; a " +
			"heated or insulated floor is the cure.",
		"Un congelador sobre una solera en contacto con el terreno congela el suelo de debajo. El hielo levanta el piso. Busque grietas y " +
			"una puerta que roza; el remedio es un suelo calefactado o aislado.",
	},
	"load_frost_not_melted": {
		"The defrosts leave {left_kg_day:mass} of frost a day on the coil. It will ice up. More or longer defrosts, or less air through the " +
			"door.",
		"Los desescarches dejan {left_kg_day:mass} de hielo al día en la batería. Se bloqueará. Más desescarches o más largos, o menos aire " +
			"por la puerta.",
	},
	"load_defrost_takes_long": {
		"Defrost and drip stop the machine {hours:1} hours a day, more than its run hours leave.",
		"El desescarche y el goteo paran la máquina {hours:1} horas al día, más de lo que dejan sus horas de marcha.",
	},
	"load_off_cycle_too_cold": {
		"At {room_k:temp} the room's air does not clear the coil: off-cycle defrost works from about 35 °F up (common practice).",
		"A {room_k:temp} el aire de la cámara no limpia la batería: el desescarche por paro sirve desde unos 2 °C (práctica común).",
	},
	"load_freezing_in_storage": {
		"{share:percent} of the load is product coming in warm. A storage freezer keeps cold; it is not built to freeze.",
		"El {share:percent} de la carga es producto que entra caliente. Un congelador de almacenaje mantiene el frío; no está hecho para " +
			"congelar.",
	},
	"load_map_extrapolated": {
		"The compressor works outside the limits of its map. Take the capacity as a guess, and check the maker's limits.",
		"El compresor trabaja fuera de los límites de su mapa. Tome la potencia como una estimación y compruebe los límites del fabricante.",
	},
	"load_water_on_floor": {
		"{water_kg_day:mass} of water a day comes in with the air and freezes. Ice on the floor by the door makes people slip; find it " +
			"before it finds them.",
		"Cada día entran {water_kg_day:mass} de agua con el aire y se congelan. El hielo en el suelo junto a la puerta hace resbalar; " +
			"búsquelo antes de que alguien caiga.",
	},
	"by_glass": {
		"With a receiver: add until the glass clears and stays clear, then what winter wants on top. Stop at the full charge whatever the " +
			"glass says.",
		"Con recipiente: añada hasta que la mirilla quede clara y siga clara, y luego lo que pide el invierno. Pare en la carga completa " +
			"diga lo que diga la mirilla.",
	},
	"by_subcooling": {
		"Without a receiver: add in small steps until subcooling at the unit reaches its target.",
		"Sin recipiente: añada poco a poco hasta que el subenfriamiento en la unidad llegue a su objetivo.",
	},
	"by_weight": {
		"By weight only: recover what is left, evacuate, weigh in the plate charge.",
		"Sólo por peso: recupere lo que quede, haga vacío y pese la carga de la placa.",
	},
	"keep_adding": {"Keep adding.", "Siga añadiendo."},
	"slow_down": {
		"Nearly there: close the valve, let it settle, then small steps.",
		"Ya casi: cierre la válvula, deje que se asiente y siga poco a poco.",
	},
	"stop_reached": {"Stop. The charge is in.", "Pare. La carga está dentro."},
	"too_much": {
		"Too much is in. Recover the rest into a cylinder; never vent it.",
		"Hay demasiado. Recupere lo que sobra en una botella; nunca lo suelte.",
	},
	"charge_as_liquid": {
		"A blend with {glide_k:diff} of glide leaves the cylinder as liquid, or what goes in is not the blend. Turn the cylinder as its " +
			"label says.",
		"Una mezcla con {glide_k:diff} de deslizamiento sale de la botella en líquido; si no, lo que entra no es la mezcla. Ponga la botella " +
			"como dice su etiqueta.",
	},
	"charge_meter_into_suction": {
		"Liquid into the suction breaks a compressor. Throttle it so that it flashes before it gets there, in short steps; better into the " +
			"high side with the machine off.",
		"El líquido en la succión rompe el compresor. Estrangúlelo para que se evapore antes de llegar, en pasos cortos; mejor en el lado de " +
			"alta con la máquina parada.",
	},
	"charge_gloves": {
		"Liquid refrigerant freezes skin and eyes: gloves and goggles before the hose comes off.",
		"El refrigerante líquido congela piel y ojos: guantes y gafas antes de soltar la manguera.",
	},
	"charge_scale_free": {
		"Scale level, hose slack, nothing leaning on the cylinder. Set it to zero, then do not touch it.",
		"Báscula nivelada, manguera floja, nada apoyado en la botella. Póngala a cero y no la toque.",
	},
	"charge_flammable": {
		"This refrigerant burns. No flame, no spark, ventilate, rated tools, and never more than the plate allows for the room.",
		"Este refrigerante arde. Sin llama ni chispas, ventile, herramienta adecuada, y nunca más de lo que la placa permite para el local.",
	},
	"charge_carbon_dioxide": {
		"Carbon dioxide: raise the pressure with vapour above 5.2 bar absolute before any liquid, or it turns to dry ice and plugs. Never " +
			"shut in liquid.",
		"Dióxido de carbono: suba la presión con vapor por encima de 5.2 bar absolutos antes de meter líquido, o se hará nieve y taponará. " +
			"Nunca deje líquido encerrado.",
	},
	"charge_clear_glass_is_not_full": {
		"A clear glass now is not a full charge: this machine floods its condenser in the cold.",
		"Una mirilla clara ahora no es la carga completa: esta máquina inunda el condensador cuando hace frío.",
	},
	"charge_winter_lacks": {
		"If the glass is just clear at {now_k:temp} outside, {lack_kg:mass} (give or take {u_kg:mass}) is missing at {ambient_k:temp}.",
		"Si la mirilla acaba de aclararse a {now_k:temp} fuera, a {ambient_k:temp} faltarán {lack_kg:mass} (más o menos {u_kg:mass}).",
	},
	"charge_plate_short_in_winter": {
		"By its parts the machine wants {need_kg:mass} at {ambient_k:temp}, the plate says {plate_kg:mass}. Ask the maker for the winter " +
			"charge before you go beyond the plate.",
		"Por sus partes la máquina pide {need_kg:mass} a {ambient_k:temp}; la placa dice {plate_kg:mass}. Pregunte al fabricante por la " +
			"carga de invierno antes de pasar de la placa.",
	},
	"charge_receiver_too_small": {
		"Pumped down, {full_kg:mass} does not fit: the receiver takes {limit_kg:mass} at 80 %. Do not shut all of it in; it would be full of " +
			"liquid and burst something.",
		"Recogida, la carga de {full_kg:mass} no cabe: el recipiente admite {limit_kg:mass} al 80 %. No la encierre toda; quedaría lleno de " +
			"líquido y reventaría algo.",
	},
	"charge_plate_and_parts_differ": {
		"The plate says {plate_kg:mass}, the parts {parts_kg:mass}. The plate wins; check line lengths, and whether the field lines are in " +
			"the plate.",
		"La placa dice {plate_kg:mass} y las partes {parts_kg:mass}. Manda la placa; compruebe longitudes y si las líneas de obra están en " +
			"la placa.",
	},
	"charge_cylinder_overfilled": {
		"The cylinder is {over_kg:mass} over its limit. Keep it cool, out of the sun, and take the excess out now: full of liquid it bursts.",
		"La botella pasa {over_kg:mass} de su límite. Téngala fresca y a la sombra y saque ya lo que sobra: llena de líquido revienta.",
	},
	"charge_cylinder_nearly_full": {
		"{room_kg:mass} of room is left in the cylinder. Have the next one ready.",
		"Quedan {room_kg:mass} de sitio en la botella. Tenga la siguiente a mano.",
	},
	"charge_bubbles_are_not_the_charge": {
		"Bubbles with {subcooling_k:diff} of subcooling are not a short charge. Look for a pressure drop: drier, valve, strainer. Adding " +
			"makes it worse.",
		"Burbujas con {subcooling_k:diff} de subenfriamiento no son falta de carga. Busque una caída de presión: filtro, válvula, tamiz. " +
			"Añadir lo empeora.",
	},
	"charge_glass_says_add": {
		"The glass bubbles and subcooling is low: add, a little at a time.",
		"La mirilla burbujea y hay poco subenfriamiento: añada, poco a poco.",
	},
	"charge_subcooling_says_add": {
		"Subcooling {subcooling_k:diff}, target {target_k:diff}: add, a little at a time.",
		"Subenfriamiento {subcooling_k:diff}, objetivo {target_k:diff}: añada, poco a poco.",
	},
	"charge_subcooling_says_stop": {
		"Subcooling {subcooling_k:diff}, target {target_k:diff}: stop here.",
		"Subenfriamiento {subcooling_k:diff}, objetivo {target_k:diff}: pare aquí.",
	},
	"charge_subcooling_too_much": {
		"Subcooling {subcooling_k:diff} is well above {target_k:diff}: too much is in, or there is air. Check for air before you recover any.",
		"Subenfriamiento {subcooling_k:diff}, muy por encima de {target_k:diff}: hay demasiado, o hay aire. Descarte el aire antes de recuperar.",
	},
	"charge_receiver_level_stop": {
		"The receiver is {level:percent} full. Stop: 80 % is the limit.",
		"El recipiente está al {level:percent}. Pare: el límite es el 80 %.",
	},
	"charge_weight_only": {
		"Fixed orifice or capillary: glass and subcooling do not show the charge. Only the scale does.",
		"Orificio fijo o capilar: ni la mirilla ni el subenfriamiento muestran la carga. Sólo la báscula.",
	},
	"charge_never_beyond": {
		"Never beyond {full_kg:mass} in all.",
		"Nunca más de {full_kg:mass} en total.",
	},
	"charge_let_settle": {
		"Close the valve and wait 10 to 15 minutes before each reading that decides (common practice).",
		"Cierre la válvula y espere de 10 a 15 minutos antes de cada lectura que decida (práctica común).",
	},
	"charge_watch_head": {
		"Head should stand near {condensing_k:temp} saturated today. If it climbs well past that while you add, stop and look for air or a " +
			"dirty condenser.",
		"La alta debería estar cerca de {condensing_k:temp} de saturación hoy. Si sube mucho más al añadir, pare y busque aire o un " +
			"condensador sucio.",
	},
	"charge_cylinder_runs_out": {
		"The cylinder holds {in_kg:mass}, still to add is {still_kg:mass}. Close before it runs empty, so that no vapour follows.",
		"La botella tiene {in_kg:mass} y faltan {still_kg:mass}. Cierre antes de que se vacíe, para que no siga vapor.",
	},
	"charge_no_running_state_in_the_cold": {
		"At {ambient_k:temp} outside no steady running state is found for a machine like this. Without head control there is no winter " +
			"charge to reckon.",
		"A {ambient_k:temp} fuera no se encuentra un estado de marcha estable para una máquina así. Sin control de condensación no hay carga " +
			"de invierno que calcular.",
	},
	"charge_start_unknown": {
		"Nobody knows what was in before, so the scale alone cannot say what is still to add. Recover and weigh it in, or go by the method " +
			"below.",
		"No se sabe cuánto había antes, así que la báscula sola no dice cuánto falta. Recupere y pese la carga, o siga el método de abajo.",
	},
}
