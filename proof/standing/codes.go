package standing

// Codes lists every code that a standing-pressure test may answer with, for those who put them into words.
func Codes() []string {
	return []string{
		TightWithin.String(),
		Leaking.String(),
		Undecided.String(),
		NoLeakSeen.String(),
		OneReading,
		PressureGained,
		TooShort,
		TooUncertain,
		NotALine,
		LargeSwing,
		VolumeUnknown,
		NoPressureOn,
		NitrogenOnly,
		UseRegulator,
		UseRelief,
		LowestNameplate,
		NameplateAsked,
		AboveNameplate,
		StandClear,
		NitrogenAir,
	}
}
