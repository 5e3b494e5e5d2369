package photo

import "encoding/binary"

// JPEG markers, ITU-T T.81 table B.1.
const (
	mkSOI, mkEOI, mkSOS   = 0xD8, 0xD9, 0xDA
	mkSOF2                = 0xC2 // progressive
	mkApp0, mkApp1, mkCom = 0xE0, 0xE1, 0xFE
	mkApp14, mkApp15      = 0xEE, 0xEF
)

// segments calls f with each marker before the picture's data and its payload (without the length), and returns where
// the data's marker stands.
func segments(b []byte, f func(marker byte, whole, payload []byte)) (data int, ok bool) {
	if len(b) < 4 || b[0] != 0xFF || b[1] != mkSOI {
		return 0, false
	}
	for i := 2; i+4 <= len(b); {
		if b[i] != 0xFF {
			return 0, false
		}
		m := b[i+1]
		if m == 0xFF { // fill byte
			i++
			continue
		}
		n := int(binary.BigEndian.Uint16(b[i+2:]))
		if m < 0xC0 || m == mkEOI || n < 2 || i+2+n > len(b) {
			return 0, false
		}
		if m == mkSOS {
			return i, true
		}
		f(m, b[i:i+2+n], b[i+4:i+2+n])
		i += 2 + n
	}
	return 0, false
}

// strip copies a JPEG without its metadata: of the application segments only the one that says how colours are coded
// stays, and nothing after its end.
func strip(b []byte) ([]byte, bool) {
	out := make([]byte, 0, len(b))
	out = append(out, 0xFF, mkSOI)
	data, ok := segments(b, func(m byte, whole, payload []byte) {
		switch {
		case m == mkApp14 && len(payload) >= 12 && string(payload[:5]) == "Adobe":
			out = append(out, whole...)
		case m >= mkApp0 && m <= mkApp15 || m == mkCom:
		default:
			out = append(out, whole...)
		}
	})
	if !ok {
		return nil, false
	}
	end := scans(b, data, &out)
	if end < 0 {
		return nil, false
	}
	return append(out, 0xFF, mkEOI), true
}

// scans copies the picture's data, which in a progressive picture has segments between its parts, up to the end
// marker, and returns where that stands; −1: there is none.
func scans(b []byte, i int, out *[]byte) int {
	for i+2 <= len(b) {
		m := b[i+1]
		switch {
		case b[i] != 0xFF:
			*out = append(*out, b[i])
			i++
		case m == mkEOI:
			return i
		case m == 0x00 || m >= 0xD0 && m <= 0xD7: // a data byte 0xFF, or a restart marker
			*out = append(*out, b[i], m)
			i += 2
		case m == 0xFF:
			i++
		default:
			if i+4 > len(b) {
				return -1
			}
			n := int(binary.BigEndian.Uint16(b[i+2:]))
			if n < 2 || i+2+n > len(b) {
				return -1
			}
			if m < mkApp0 || m > mkApp15 && m != mkCom {
				*out = append(*out, b[i:i+2+n]...)
			}
			i += 2 + n
		}
	}
	return -1
}

func progressive(b []byte) bool {
	found := false
	segments(b, func(m byte, _, _ []byte) { found = found || m == mkSOF2 })
	return found
}

// orientation is that of the Exif segment, 1 to 8; 1 when there is none.
func orientation(b []byte) int {
	out := 1
	segments(b, func(m byte, _, p []byte) {
		if m != mkApp1 || len(p) < 14 || string(p[:6]) != "Exif\x00\x00" {
			return
		}
		p = p[6:]
		var o binary.ByteOrder
		switch string(p[:2]) {
		case "II":
			o = binary.LittleEndian
		case "MM":
			o = binary.BigEndian
		default:
			return
		}
		at := int64(o.Uint32(p[4:]))
		if at+2 > int64(len(p)) {
			return
		}
		n := int64(o.Uint16(p[at:]))
		for i := range n {
			e := at + 2 + 12*i
			if e+12 > int64(len(p)) {
				return
			}
			// Tag 0x0112, one SHORT.
			if o.Uint16(p[e:]) == 0x0112 && o.Uint16(p[e+2:]) == 3 {
				if v := int(o.Uint16(p[e+8:])); v >= 1 && v <= 8 {
					out = v
				}
				return
			}
		}
	})
	return out
}
