package pages

import (
	"context"
	"fmt"

	"fairwindow/sensors"
)

// asks puts beside what was heard last how long each humidity sensor has hung in
// solvent vapour, and what somebody must see to that its last reading does not say.
func (p *pages) asks(ctx context.Context, place string, heard []sensorView, u units) error {
	accounts, err := p.Air.Accounts(ctx, place)
	if err != nil {
		return fmt.Errorf("sensors of %s: %w", place, err)
	}
	for _, a := range accounts {
		for i := range heard {
			if heard[i].Name != a.Source {
				continue
			}
			heard[i].Vapour = Exposed(a)
			for _, f := range a.Asks {
				if f.Fault == sensors.Drifting || f.Fault == sensors.Unchecked || f.Fault == sensors.Apart {
					name, _ := u.reading(f.Of, 0)
					heard[i].Asks = append(heard[i].Asks, name+" "+string(f.Fault)+": "+f.Note)
				}
			}
		}
	}
	return nil
}
