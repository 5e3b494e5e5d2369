// Package charge says how much refrigerant a machine takes: by its plate, or by its parts from the densities of the
// refrigerant at the temperatures the machine runs at; how much more head-pressure control by flooding wants on the
// coldest day; what a receiver and a cylinder may hold; when to stop; and what is still to add by the scale.
//
// The state of the machine at any outside temperature comes from package plant, in which a flooding control holds its
// set condensing temperature as long as there is condenser to spare. Volumes are those of the real parts. Coils hold
// vapour and liquid in a share that is only known roughly: anywhere between Zivi's void fraction and the trade's
// figure, alike likely; which decides how sure a charge by parts can be.
//
// It does not know refrigerant dissolved in oil, oil traps, accumulators that hold liquid, and several coils on one
// machine other than by their volumes. A clear glass on a warm day is no full charge: the answer always says what
// winter wants on top.
//
// Units: SI; masses kg, volumes m³, temperatures as units.Temp. Values are immutable; everything is deterministic.
//
// References: ASTM B280 (tube sizes); Zivi (1964) (void fraction); walk-in makers' manuals for flooded shares and
// tube weights (see testdata and tests); fill rules: 80 % of a cylinder's volume by weight at 25 °C, 80 % of a
// receiver at 90 °F, from memory of AHRI Guideline K and ASHRAE 15 practice.
package charge
