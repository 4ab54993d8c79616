package config

import (
	"slices"
	"time"

	"fairwindow/conditions/unit"
)

// Release is how a draft reaches the crews.
const (
	ByHand = "by hand" // the scheduler releases it
	Auto   = "auto"    // at once
)

// WithDefaults fills in what the yard file left out. It changes nothing that was
// written, and nothing in the yard it is called on.
func (y Yard) WithDefaults() Yard {
	y.located, _ = y.Location() // a zone that is none was said by Check
	or(&y.Units, "SI")
	or(&y.Listen, "127.0.0.1:8450")
	if y.Bus.URL == "" {
		or(&y.Bus.Listen, "127.0.0.1:4450")
		or(&y.Bus.MQTT, "127.0.0.1:1850")
	}
	or(&y.Release, ByHand)
	or(&y.Confidence.Start, percent(95))
	or(&y.Confidence.Plan, percent(70))
	or(&y.Confidence.Pencil, percent(50))
	or(&y.Notice.Ahead, hours(48))
	or(&y.Notice.Frozen, hours(4))
	or(&y.Notice.Stale, hours(4)) // about every four hours: FHWA, KTA and MIL-HDBK-1110
	or(&y.Keep.Readings, days(90))
	or(&y.Keep.Plans, days(400))
	or(&y.Keep.Warranty, Lasting(days(3*365)))
	// A day's delay is 1440 cost-minutes; a told start is moved by a day for no
	// less than a tenth of that, and a booth is held for a day for a twentieth.
	or(&y.Weights.Lateness, 1)
	or(&y.Weights.Spoiling, 3)
	or(&y.Weights.Repair, 1.5)
	or(&y.Weights.Holding, 0.05)
	or(&y.Weights.Waiting, 0.02)
	or(&y.Weights.Moving, 120)
	or(&y.Weights.Change, 0.1)

	y.Places = slices.Clone(y.Places)
	for i := range y.Places {
		or(&y.Places[i].Boats, 1)
		or(&y.Places[i].Move, unit.Duration(30*time.Minute))
	}
	y.Crews = slices.Clone(y.Crews)
	for i := range y.Crews {
		or(&y.Crews[i].People, 1)
	}
	y.Cards = slices.Clone(y.Cards)
	for i := range y.Cards {
		or(&y.Cards[i].Revision, 1)
		or(&y.Cards[i].ProtectUntil, y.Cards[i].protectedUntil())
	}
	y.Systems = slices.Clone(y.Systems)
	for i := range y.Systems {
		stages := slices.Clone(y.Systems[i].Stages)
		for j := range stages {
			if stages[j].Skill != "" {
				or(&stages[j].People, 1)
			}
			if stages[j].Kind == Coat {
				or(&stages[j].Passes, 1)
			}
		}
		y.Systems[i].Stages = stages
	}
	y.Sensors = slices.Clone(y.Sensors)
	for i := range y.Sensors {
		if m := y.Sensors[i].Modbus; m != nil {
			or(&y.Sensors[i].Every, m.Every)
			or(&y.Sensors[i].Every, unit.Duration(time.Minute)) // how often it is asked
		}
	}
	y.Forecasts = slices.Clone(y.Forecasts)
	for i := range y.Forecasts {
		or(&y.Forecasts[i].Every, hours(1))
		or(&y.Forecasts[i].Stale, hours(18))
	}
	if y.Mail.Server != "" {
		or(&y.Mail.TLS, StartTLS)
	}
	// A shift with its breaks, and once anew each day.
	or(&y.SignIn.Idle, hours(10))
	or(&y.SignIn.Ends, hours(24))
	if y.SignIn.Idle > y.SignIn.Ends {
		y.SignIn.Idle = y.SignIn.Ends
	}
	y.People = slices.Clone(y.People)
	for i := range y.People {
		if y.People[i].Next != "" {
			or(&y.People[i].After, unit.Duration(15*time.Minute))
		}
	}
	return y
}

func or[T comparable](value *T, otherwise T) {
	var none T
	if *value == none {
		*value = otherwise
	}
}

func percent(v float64) unit.Written[unit.Share] {
	return unit.Written[unit.Share]{SI: unit.Share(v / 100), Value: v, Unit: "%"}
}

func hours(n int) unit.Duration { return unit.Duration(time.Duration(n) * time.Hour) }

func days(n int) unit.Duration { return hours(24 * n) }
