// Package water gives the pressure at which water vapour stands over liquid water or ice, and the water a volume of
// vapour holds.
//
// It knows water alone: no air (the enhancement of the vapour pressure by air, 0.4 % at sea level, is left out), no
// oil, no supercooled liquid. Below the triple point the vapour stands over ice.
//
// References: IAPWS R14-08(2011), Revised Release on the Pressure along the Melting and Sublimation Curves of Ordinary
// Water Substance, eq. 6; Wagner and Pruss (1993), J. Phys. Chem. Ref. Data 22:783-787, eq. 1, the same as IAPWS
// SR1-86(1992). Hyland and Wexler (1983), on which psychrometric tables stand, agrees within 0.025 % from
// freezing to 90 °C and 0.04 % over ice from -40 °C.
package water
