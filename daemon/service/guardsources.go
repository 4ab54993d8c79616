package service

import "fairwindow/notify"

// sources tells of instruments and forecasts that fell silent.
func (g *guarding) sources() {
	for _, sensor := range g.facts.yard.Sensors {
		if sensor.Every == 0 {
			continue
		}
		name := "source " + sensor.Name
		one, ok := g.watch.by[name]
		if !ok || one.Heard.IsZero() {
			continue
		}
		silent := g.now.Sub(one.Heard)
		switch told := len(one.Known) > 0; {
		case silent > 3*sensor.Every.Std():
			n := notify.Notice{Kind: notify.SourceSilent, Place: sensor.Place, Boat: sensor.Boat}
			n.From = one.Heard
			n.Cause = notify.Cause{Source: sensor.Name, Sure: notify.Unknown}
			g.say(name, n)
		case told:
			one.again()
			g.watch.touch(name)
		}
	}
	for _, source := range g.facts.yard.Forecasts {
		name := "source forecast " + source.Name
		one, ok := g.watch.by[name]
		if !ok || one.Heard.IsZero() {
			continue
		}
		switch told := len(one.Known) > 0; {
		case g.now.Sub(one.Heard) > staleAfter(g.facts.yard, source.Name):
			n := notify.Notice{Kind: notify.ForecastOld, From: one.Heard}
			n.Cause = notify.Cause{Source: source.Name, Issued: one.Heard, Sure: notify.Unknown}
			g.say(name, n)
		case told:
			one.again()
			g.watch.touch(name)
		}
	}
}
