package text

var signRoles = map[string]phrase{
	"customer": {"For the customer", "Por el cliente"},
	"mechanic": {"Mechanic", "Mecánico"},
}

// SignRole is whose signature it is.
func SignRole(l Language, role string) string { return signRoles[role].in(l) }

var signHow = map[string]phrase{
	"drawn": {"signed on the screen", "firmado en la pantalla"},
	"paper": {"signed on paper", "firmado en papel"},
	"typed": {"the typed name stands for the signature", "el nombre escrito vale como firma"},
}

// SignHow says how somebody signed.
func SignHow(l Language, how string) string { return signHow[how].in(l) }

var (
	signChanged  = phrase{"Changed since signed", "Modificado después de la firma"}
	signProgram  = phrase{"signed in program version ", "firmado con la versión del programa "}
	signDrawings = phrase{"Signature of ", "Firma de "}
)

// SignChanged says that the report is not the one that was signed.
func SignChanged(l Language) string { return signChanged.in(l) }

// SignProgram says that another version of the program showed what was signed.
func SignProgram(l Language, version string) string { return signProgram.in(l) + version }

// SignatureOf names the drawing of a signature.
func SignatureOf(l Language, name string) string { return signDrawings.in(l) + name }
