// Package vacuum judges a vacuum rise test: the pump is shut off and the gauge is watched. Times are handed in; the
// same readings always give the same answer.
//
// p(t) = p0 + a t + b (1 − exp(−t/τ)): a straight line is air through a leak (choked, hence steady), a part that
// levels off is moisture, which cannot stand above the vapour pressure at the coldest part. Four curves are averaged:
// level, line, levelling, both. What shows no bend within the test may be either, and is left undecided. Ice in a
// coil at −10 °F stands at about 560 micron: a reading that is not surely below the vapour pressure at the coldest
// part never proves it dry.
//
// Where no criterion is named the default is asked: a quarter of an hour, 500 micron at the end, 200 micron of
// levelling and one micron a minute of straight rise at most. Judgement; published criteria stand in
// data/evacuation.json with source and label.
//
// # References
//
// IAPWS R14-08(2011) and Wagner and Pruss (1993) (water). UFGS 15182 3.3.3, UFGS 15741N 3.7 (tests).
package vacuum
