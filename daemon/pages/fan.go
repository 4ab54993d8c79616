package pages

import (
	"context"
	"fmt"
	"strings"

	"fairwindow/config"
	"fairwindow/planner"
	"fairwindow/sensors"
)

// offWhy is why a booth must not be sprayed in, by its own signals: then no coat goes
// on, whatever the limits say; else nothing.
func (p *pages) offWhy(ctx context.Context, place config.Place, c clock, yard config.Yard) (string, error) {
	if place.Kind != config.Booth {
		return "", nil
	}
	readings, err := p.Air.Readings(ctx, place.Name, c.now.Add(-stale(yard)), c.now.Add(2*tooSoon))
	if err != nil {
		return "", fmt.Errorf("readings of %s: %w", place.Name, err)
	}
	stop, _ := sensors.Stopped(yard, place, readings, c.now, stale(yard))
	return strings.Replace(stop.Text, "its ", "the ", 1), nil
}

// stopped is what stands above a place's verdict: why a coat that goes on there must
// stop; else nothing.
func (p *pages) stopped(ctx context.Context, place config.Place, c clock, yard config.Yard) (string, error) {
	why, err := p.offWhy(ctx, place, c, yard)
	if err != nil || why == "" {
		return "", err
	}
	coats, err := p.coatsIn(ctx, place.Name)
	if err != nil || len(coats) == 0 {
		return "", err
	}
	return stop(why, coats), nil
}

// coatsIn names the coats that go on in a place now.
func (p *pages) coatsIn(ctx context.Context, place string) ([]string, error) {
	work, err := p.Plans.Work(ctx)
	if err != nil {
		return nil, fmt.Errorf("work: %w", err)
	}
	boats, err := p.Plans.Boats(ctx)
	if err != nil {
		return nil, fmt.Errorf("boats: %w", err)
	}
	var running []string
	for _, b := range boats {
		for _, a := range b.Areas {
			for _, s := range work.Stages(b.Name, a.Name) {
				if work.Place(b.Name).Place == place && goesOn(s) {
					running = append(running, key(s.Key))
				}
			}
		}
	}
	return running, nil
}

// goesOn tells a coat that is being put on.
func goesOn(s planner.Progress) bool { return s.Stage.Kind == config.Coat && s.Running && !s.Done }

func stop(why string, coats []string) string {
	return "Stop: " + why + ", and " + strings.Join(coats, ", ") + " goes on."
}
