// Package reading is what a mechanic reads and sees: places on the machine, values with uncertainty and instrument,
// things seen, the machine's plate, and the sheet that holds them.
//
// Values are SI: absolute Pa, K, A, W. It checks what can be checked without the refrigerant (ranges, contradictions
// between instruments, readings taken too early) and returns findings: codes with arguments, never sentences. It
// infers nothing.
//
// Default uncertainties are standard uncertainties (1 sigma), assumptions from accuracy classes (rectangular
// tolerance over the root of three) and common practice; a reading that states its own wins. Defaults of applications
// are common practice, no source, except where said.
package reading
