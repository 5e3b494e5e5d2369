// Package plant is the steady forward model of a vapour-compression machine: from design, box and outside temperature
// and changes (faults) to the readings a mechanic would take.
//
// The circuit is normalised to a design flow of 1 kg/s and sized in closed form from its design point. Unknowns are
// the evaporating dew temperature, the logarithm of the mass flow and the condensing dew temperature; where the
// charge decides, a fourth: the vapour share leaving the condenser (short of refrigerant) or the backed-up share of
// it (too much). Residuals are logarithms, which keeps Newton convergent from a bad start. Head-pressure control
// holds the condensing temperature at its set value while there is area to spare: by flooding the condenser, which
// takes charge, or by its fans (share of time or of speed), which does not; fans hold the head of a machine that is
// short of refrigerant too.
//
// Expansion devices: a valve whose opening follows the superheat over a band; an electronic valve that holds its
// superheat exactly between closed and fully open; an orifice that chokes as a short tube does; a capillary in which the
// liquid flashes and chokes. Water settles on the coils of coolers and air conditioners; those of freezers count as dry. On
// the suction side, where fitted: a liquid–suction exchanger of given effectiveness, an evaporator regulator that
// closes below its set pressure, a crankcase regulator that caps the pressure at the compressor. The suction gauge is
// at the compressor, behind all of them.
//
// Blends: dew at the coil outlet for superheat and TD, the mean between inlet and dew for heat transfer in the
// evaporator, the mean of dew and bubble in the condenser, bubble at its outlet; liquid and vapour together (a
// flooded coil outlet, a machine stopped and equalised) lie between the two by their shares. The composition is the
// same everywhere.
//
// Not modelled: start and defrost (steady state at the box temperature read), hot-gas bypass, oil, several coils on
// one machine, liquid overfeed, uneven feeding, the heat a soldered capillary gives off along its length (it is given off ahead of
// it). Where a refrigerant cannot condense in the air it stands in the machine is refused ([Condenses]); other
// machines beyond the fit end as a high-pressure trip. With a fixed orifice and two grave faults, two steady states
// can exist side by side, the coil flooded or dry; a solve returns one of them.
//
// Units: K, Pa, kg/s per design kg/s, W per design kg/s (J/kg). Values are immutable and safe for concurrent use.
//
// References: Zivi (1964), J. Heat Transfer 86:247-252 (void fraction); effectiveness-NTU relations for a boiling or
// condensing stream (definition); clearance volumetric efficiency (definition); Leung (1986), AIChE J. 32:1743-1746
// (flashing liquid, from memory). Every number of the model stands in coefficients.json with its source or the reason
// of a judgement. What each component was compared with, and how far off it is: docs/physics.md, section 4.
//
// A file each: condenser, evaporator, wetcoil, expansion, orifice, compressor, lines, control, exchanger and receiver,
// with the small structs of what enters and leaves; state walks from one to the next, solve finds the state at which all agree.
package plant
