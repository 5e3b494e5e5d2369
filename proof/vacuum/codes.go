package vacuum

// Codes lists every code that a vacuum rise test may answer with, for those who put them into words.
func Codes() []string {
	return []string{
		DryAndTight.String(),
		Leak.String(),
		Moisture.String(),
		Both.String(),
		CannotProveDry.String(),
		Undecided.String(),
		DryNoLeakSeen.String(),
		FewPoints,
		LineOrLevelling,
		LeakNotExcluded,
		MoistureNotExcluded,
		HoldNotOver,
		TargetNotReached,
		AboveAccept,
		AboveWaterCeiling,
		PressureFalls,
		ColdestUnknown,
		TooColdForDry,
		SmallStraightRise,
		NeverDecides,
	}
}
