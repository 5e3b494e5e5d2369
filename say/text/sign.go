package text

// SignRole is whose signature it is.
func SignRole(l Language, role string) string { return l.words().SignRoles[role] }

// SignHow says how somebody signed.
func SignHow(l Language, how string) string { return l.words().SignHow[how] }

// SignChanged says that the report is not the one that was signed.
func SignChanged(l Language) string { return l.say("sign_changed") }

// SignProgram says that another version of the program showed what was signed.
func SignProgram(l Language, version string) string { return l.say("sign_program", version) }

// SignatureOf names the drawing of a signature.
func SignatureOf(l Language, name string) string { return l.say("signature_of", name) }
