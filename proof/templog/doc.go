// Package templog reads a logger's record of temperatures and judges it against a limit. Nothing is read but the file
// that is given; the same file always gives the same answer.
//
// An excursion is bracketed: its start lies between the last reading within the limit and the first above it. Where
// only air was logged the product follows it with one time constant whose spread is wide. Defrosts are short humps
// that come back at equal times. The record says what evidence is still missing (FDA Food Code 4-204.112 sensor
// place, 3-501.19 marking; Reg. (EC) 37/2005 Art. 2(3) dating). Whether food may be used is never decided here.
package templog
