package sky

import (
	"math"

	"fairwindow/conditions/unit"
)

// Clear is what a clear sky sends on the level, W/m²: B. Haurwitz, Insolation in
// relation to cloudiness and cloud density, J. Meteorology 2 (1945) 154–166, of the
// apparent sun. It knows no haze and no height: within some 10 % of clear days at
// low sites (from memory, no source).
func (s Sun) Clear() float64 { return haurwitz(math.Sin(s.Apparent() * degree)) }

// haurwitz is Clear by the sine of the sun's apparent elevation.
func haurwitz(sine float64) float64 {
	if sine <= 0 {
		return 0
	}
	return 1098 * sine * math.Exp(-0.059/sine)
}

// Through is the part of a clear sky's light on the level that a cloud cover
// lets through, 0.25 under an overcast: F. Kasten and G. Czeplak, Solar and
// terrestrial radiation dependent on the amount and type of cloud, Solar Energy
// 24 (1980) 177–189. Published models differ by 25 to 30 % at half cover: a
// forecast's own shortwave is better. Covers outside 0 to 1 count as the
// nearer end.
func Through(cover unit.Share) float64 {
	return 1 - 0.75*math.Pow(float64(max(0, min(1, cover))), 3.4)
}
