package text

// words are the short words of loads and charges.
var words = map[string]phrase{
	"wall": {"walls", "paredes"}, "ceiling": {"ceiling", "techo"}, "floor": {"floor", "suelo"}, "slab": {"slab on ground", "solera sobre terreno"}, "glass": {"glass", "cristal"},
	"infiltration": {"door, air coming in", "puerta, aire que entra"}, "frost": {"moisture freezing", "humedad que se congela"}, "product": {"product", "producto"},
	"packaging": {"packaging", "embalaje"}, "respiration": {"respiration", "respiración"}, "people": {"people", "personas"}, "lights": {"lights", "luces"},
	"fans": {"coil fans", "ventiladores del evaporador"}, "motors": {"motors", "motores"}, "heaters": {"heaters", "resistencias"}, "defrost": {"defrost", "desescarche"},
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
		"El {share:percent} de la carga entra por la puerta. Una cortina, un cierre automático y abrir menos cambian más que cualquier cosa en la máquina.",
	},
	"load_bare_slab_under_freezer": {
		"A freezer on a slab that lies on the ground freezes the soil below. Frost lifts the floor. Look for cracks and a door that binds; a heated or insulated floor is the cure.",
		"Un congelador sobre una solera en contacto con el terreno congela el suelo de debajo. El hielo levanta el piso. Busque grietas y una puerta que roza; el remedio es un suelo calefactado o aislado.",
	},
	"load_frost_not_melted": {
		"The defrosts leave {left_kg_day:mass} of frost a day on the coil. It will ice up. More or longer defrosts, or less air through the door.",
		"Los desescarches dejan {left_kg_day:mass} de hielo al día en la batería. Se bloqueará. Más desescarches o más largos, o menos aire por la puerta.",
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
		"El {share:percent} de la carga es producto que entra caliente. Un congelador de almacenaje mantiene el frío; no está hecho para congelar.",
	},
	"load_map_extrapolated": {
		"The compressor works outside the limits of its map. Take the capacity as a guess, and check the maker's limits.",
		"El compresor trabaja fuera de los límites de su mapa. Tome la potencia como una estimación y compruebe los límites del fabricante.",
	},
	"load_water_on_floor": {
		"{water_kg_day:mass} of water a day comes in with the air and freezes. Ice on the floor by the door makes people slip; find it before it finds them.",
		"Cada día entran {water_kg_day:mass} de agua con el aire y se congelan. El hielo en el suelo junto a la puerta hace resbalar; búsquelo antes de que alguien caiga.",
	},
}
