package demo

import (
	"math"
	"time"

	"fairwindow/config"
)

// running is what a booth's plant does.
type running string

const (
	idle     running = "idle"
	spraying running = "spraying"
	curing   running = "curing"
)

// air is the true air of one place.
type air struct {
	place config.Place
	temp  float64 // °C
	water float64 // kg per kg of dry air
	nature
}

// nature is what a place is like, drawn once and told to nobody.
type nature struct {
	leak     float64 // changes of air an hour through cracks, in calm
	loss     float64 // W/K through walls and roof
	store    float64 // heat held by walls and floor, in multiples of the air's
	slack    float64 // how far the thermostat lies off, K
	rest     float64 // K that people turn it down when nothing is sprayed or cures
	best     float64 // part of the heater's rated power that arrives
	recovers float64 // s, in which the controller makes up a difference
	lag      float64 // h, of the air behind the weather
	damp     float64 // h, of its vapour behind the weather
	gain     float64 // K of air over outdoors per W/m² of sun
	ground   float64 // K of dew point that the ground gives off
	shelter  float64 // part of the wind that gets in
}

// heatOfAir is the heat capacity of air, J/(m³ K), at 1.2 kg/m³.
const heatOfAir = 1206.0

func newAir(seed uint64, place config.Place, now Hour) *air {
	r := luck(seed, "air", place.Name)
	a := &air{place: place, temp: now.Air, water: mixing(now.DewPoint)}
	switch {
	case place.Kind == config.Booth:
		l, w, h := float64(place.Length.SI), float64(place.Width.SI), a.high()
		a.nature = nature{
			leak: between(r, 0.25, 1.1), loss: (2*(l+w)*h + l*w) * between(r, 0.5, 1.2), store: between(r, 4, 8),
			slack: 0.5 * r.NormFloat64(), rest: between(r, 2.5, 5.5), best: between(r, 0.82, 0.98), recovers: between(r, 600, 1500),
		}
	case place.Kind == config.Shed:
		a.nature = nature{lag: between(r, 1.5, 4), damp: between(r, 0.4, 1.2), gain: between(r, 0.003, 0.007), ground: between(r, 0, 0.6), shelter: 0.15}
	case place.Kind == config.Tent:
		a.nature = nature{lag: between(r, 0.2, 0.5), damp: between(r, 0.2, 0.6), gain: between(r, 0.006, 0.011), ground: between(r, 0.3, 1.2), shelter: 0.1}
	default:
		a.nature = nature{shelter: 1}
	}
	return a
}

// open reports that a place has no roof.
func (a *air) open() bool { return a.place.Kind == config.Slip || a.place.Kind == config.Standing }

func (a *air) high() float64 {
	if h := float64(a.place.Height.SI); h > 0 {
		return h
	}
	return 6
}

func (a *air) dew() float64 { return math.Min(dewFrom(a.water), a.temp) }

// step moves the air on under the weather outdoors. Booths with a boat in them
// are heated, empty ones kept from frost.
func (a *air) step(out Hour, mode running, occupied bool, dt time.Duration) {
	switch {
	case a.open():
		a.temp, a.water = out.Air, mixing(out.DewPoint)
	case a.place.Kind == config.Booth && a.place.Booth != nil:
		a.stepBooth(out, mode, occupied, dt.Hours())
	default:
		a.temp += (out.Air + a.gain*out.Shortwave - a.temp) * (1 - math.Exp(-dt.Hours()/math.Max(a.lag, 0.05)))
		a.water += (mixing(out.DewPoint+a.ground) - a.water) * (1 - math.Exp(-dt.Hours()/math.Max(a.damp, 0.05)))
	}
	a.water = math.Min(a.water, mixing(a.temp))
}

// frostGuard is the temperature an empty booth is kept at, °C.
const frostGuard = 8.0

// stepBooth is the exact solution of one heat and one vapour balance over dt
// hours with the plant's power held.
func (a *air) stepBooth(out Hour, mode running, occupied bool, dt float64) {
	plant := a.place.Booth
	volume := float64(a.place.Length.SI) * float64(a.place.Width.SI) * a.high()
	flow := a.leak * (1 + 0.1*out.Wind) * volume // m³/h
	switch mode {
	case spraying:
		flow += float64(plant.Spraying.SI)
	case curing:
		flow += float64(plant.Curing.SI)
	}
	target := frostGuard
	if occupied {
		target = float64(plant.SetPoint.SI) + a.slack
		if mode == idle {
			target -= a.rest
		}
	}
	conducts := a.loss + flow/3600*heatOfAir // W/K
	holds := volume * heatOfAir * a.store    // J/K
	need := conducts*(target-out.Air) + holds*(target-a.temp)/a.recovers
	power := clamp(need, 0, 1000*float64(plant.Heater.SI)*a.best)
	a.temp += (out.Air + power/conducts - a.temp) * (1 - math.Exp(-conducts*dt*3600/holds))

	dried := 0.0 // kg/h; a dryer does little below half humidity
	if mode == curing && plant.Dehumid.SI > 0 {
		dried = float64(plant.Dehumid.SI) * clamp((humidityOf(a.temp, a.dew())-35)/20, 0, 1)
	}
	changes := flow / volume
	settles := mixing(out.DewPoint) - dried/(flow*1.2)
	a.water = math.Max(1e-4, a.water+(settles-a.water)*(1-math.Exp(-changes*dt)))
}
