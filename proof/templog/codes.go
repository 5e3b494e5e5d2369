package templog

// Codes lists every code that the judgement of a record may answer with, for those who put them into words.
func Codes() []string {
	return []string{
		NoteSeveralColumns,
		NoteOrderBySequence,
		NoteUnsorted,
		NoteNewestFirst,
		NoteDuplicates,
		NoteDuplicateDiffer,
		NoteMissing,
		NoteGaps,
		NoteClockBack,
		NoteClockForward,
		NoteNoSuchTime,
		NoteRejected,
		NoteRelative,
		FoodDecision,
		NeedDevice,
		NeedAccuracy,
		NeedVerification,
		NeedPlace,
		NeedOffset,
		NeedFood,
		NeedRepair,
		NeedSigned,
	}
}
