package main

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"fairwindow/conditions"
	"fairwindow/conditions/unit"
	"fairwindow/config"
	"fairwindow/daemon/service"
	"fairwindow/daemon/store"
	"fairwindow/planner"
	"fairwindow/sensors"
)

func sourcesCommand() *cobra.Command {
	var state, at string
	var asJSON bool
	c := &cobra.Command{
		Use:   "sources YARD",
		Short: "Print how every sensor and forecast stands",
		Long: `Prints what the daemon keeps of each sensor of the yard file: what it measures and
where, what it last said and when, what was doubted of it in the last hour and day,
how often it should speak, when its calibration is due, and what somebody must see
to, and where to look; then what was typed by hand, the topics on which messages come
that no sensor has, and of each forecast its last issue and how far it
has lately been wrong. Exit code 0: all is well; 1: a source is silent, doubtful or
asks to be checked.`,
		Example: `  fairwindow sources my-yard
  fairwindow sources my-yard --json`,
		Args: exactly("YARD"),
		RunE: func(c *cobra.Command, args []string) error {
			y, kept, err := openKept(args[0], state)
			if err != nil {
				return err
			}
			defer kept.Close()
			now := time.Now()
			if at != "" {
				zone, err := y.Location()
				if err == nil {
					now, err = wallTime(at, zone)
				}
				if err != nil {
					return usage("--at: %w", err)
				}
			}
			is, err := standing(c.Context(), y.WithDefaults(), kept, now)
			if err != nil {
				return err
			}
			if asJSON {
				err = printJSON(c.OutOrStdout(), is)
			} else {
				err = printSources(c.OutOrStdout(), y, is)
			}
			if err == nil && !is.Well {
				return errNo
			}
			return err
		},
	}
	c.Flags().StringVar(&state, "state", "", "the daemon's state folder; default under the user's state directory")
	c.Flags().StringVar(&at, "at", "", "as they stood at a time on the yard's clock, such as \"2026-04-06 07:00\"; default now")
	c.Flags().BoolVar(&asJSON, "json", false, "print JSON")
	return c
}

// sourcesNow is how all sources of a yard stand.
type sourcesNow struct {
	At        time.Time         `json:"at"`
	Well      bool              `json:"well"`
	Sensors   []sensors.Account `json:"sensors"`
	Forecasts []forecastNow     `json:"forecasts"`
	Unasked   []string          `json:"unasked,omitempty"` // topics on which messages come that no sensor has
}

// forecastNow is how one forecast stands.
type forecastNow struct {
	Name   string         `json:"name"`
	Format string         `json:"format"`
	Every  unit.Duration  `json:"every"`
	Stale  unit.Duration  `json:"stale"`
	Issued time.Time      `json:"issued,omitzero"`  // zero: none has come
	Until  time.Time      `json:"until,omitzero"`   // of its last point
	Old    bool           `json:"old"`              // or none at all
	Ended  bool           `json:"ended,omitempty"`  // foretells nothing that is still to come
	Failed string         `json:"failed,omitempty"` // why its address gave none the last time
	Next   time.Time      `json:"next,omitzero"`    // it is asked again then
	Flags  []sensors.Flag `json:"flags,omitempty"`
	Errs   []erring       `json:"errs,omitempty"`
}

// well reports whether nobody need see to the forecast.
func (f forecastNow) well() bool {
	return !f.Old && !f.Ended && f.Failed == "" && len(f.Flags) == 0
}

// erring is how the yard's forecast has lately been wrong in a place, a day ahead:
// what it reads too little (+) or too much (−), and the standard deviation that
// stays when that is taken out.
type erring struct {
	Place    string        `json:"place"`
	Pairs    int           `json:"pairs"`
	Air      unit.TempDiff `json:"air"`
	AirError unit.TempDiff `json:"air_error"`
	Dew      unit.TempDiff `json:"dew_point"`
	DewError unit.TempDiff `json:"dew_point_error"`
}

// dayAhead is the lead at which the forecast's errors are told.
const dayAhead = 24 * time.Hour

// standing reads how all sources stood at a time from what the daemon keeps.
func standing(ctx context.Context, y config.Yard, kept *store.Store, now time.Time) (sourcesNow, error) {
	is := sourcesNow{At: now, Well: true}
	readings, err := latestReadings(ctx, y, kept, now)
	if err != nil {
		return is, err
	}
	memory, err := kept.Memory(ctx)
	if err != nil {
		return is, err
	}
	boats, err := keptBoats(ctx, kept)
	if err != nil {
		return is, err
	}
	presses, err := kept.Presses(ctx)
	if err != nil {
		return is, err
	}
	work := planner.Replay(y, boats, presses)
	exposed, err := service.Exposed(y, memory, work, now)
	if err != nil {
		return is, err
	}
	is.Sensors = sensors.Accounts(y, readings, exposed, now)
	askForBoats(is.Sensors, boats)
	if is.Unasked, err = service.Unasked(memory, y, now); err != nil {
		return is, err
	}
	x, pairs, err := service.Learned(memory)
	if err != nil {
		return is, err
	}
	latest, err := kept.LatestForecasts(ctx)
	if err != nil {
		return is, err
	}
	for _, f := range y.Forecasts {
		one := forecastNow{Name: f.Name, Format: f.Format, Every: f.Every, Stale: f.Stale, Old: true}
		asked, err := service.Asked(memory, f)
		if err != nil {
			return is, err
		}
		if asked.Failed > 0 {
			one.Failed, one.Next = asked.Why, asked.Next
		}
		for _, issue := range latest {
			if issue.Source == f.Name {
				one.Issued, one.Flags = issue.Issued, issue.Flags
				one.Old = now.Sub(issue.Issued) > f.Stale.Std()
				if n := len(issue.Points); n > 0 {
					one.Until = issue.Points[n-1].At
					one.Ended = !one.Until.After(now)
				}
				one.Errs = errs(x, pairs, issue)
			}
		}
		is.Well = is.Well && one.well()
		is.Forecasts = append(is.Forecasts, one)
	}
	for _, a := range is.Sensors {
		is.Well = is.Well && a.Well()
	}
	return is, nil
}

// keptBoats are the boats that the daemon keeps.
func keptBoats(ctx context.Context, kept *store.Store) ([]config.Boat, error) {
	rows, err := kept.Boats(ctx)
	var boats []config.Boat
	for _, r := range rows {
		boats = append(boats, r.Boat)
	}
	return boats, err
}

// askForBoats asks for each sensor of a boat that is not there: the yard file can't tell,
// since boats come and go without it.
func askForBoats(all []sensors.Account, boats []config.Boat) {
	var names []string
	for _, b := range boats {
		names = append(names, b.Name)
	}
	for i, a := range all {
		if a.Boat == "" || a.ByHand || slices.Contains(names, a.Boat) {
			continue
		}
		note := fmt.Sprintf("there is no boat %q, so nothing goes by it", a.Boat)
		if len(names) > 0 {
			note += "; there are " + strings.Join(names, ", ")
		}
		all[i].Asks = append(all[i].Asks, sensors.Flag{Fault: sensors.Stray, Note: note})
	}
}

// latestReadings are those that an account is made of: of the last days, and the
// last one of a sensor that has been silent longer. What a clock that is ahead dates after
// now has been heard too.
func latestReadings(ctx context.Context, y config.Yard, kept *store.Store, now time.Time) ([]sensors.Reading, error) {
	upTo := now.Add(time.Millisecond)
	all, err := kept.Readings(ctx, store.Query{From: now.Add(-sensors.Remembered)})
	if err != nil {
		return nil, err
	}
	all = slices.DeleteFunc(all, func(r sensors.Reading) bool { return r.Received.After(now) && r.At.After(now) })
	heard := map[string]bool{}
	for _, r := range all {
		heard[r.Source] = true
	}
	for _, s := range y.Sensors {
		if heard[s.Name] {
			continue
		}
		last, err := kept.Readings(ctx, store.Query{Source: s.Name, To: upTo, Limit: 1})
		if err != nil {
			return nil, err
		}
		all = append(all, last...)
	}
	slices.SortStableFunc(all, func(a, b sensors.Reading) int { return a.At.Compare(b.At) })
	return all, nil
}

// errs is what was learned of the forecast, place by place, at a point a day ahead.
func errs(x conditions.Experience, pairs map[string]int, f sensors.Forecast) []erring {
	var all []erring
	came := conditions.At(f.Points, f.Issued.Add(dayAhead))
	for _, place := range sortedKeys(x.Places) {
		taken := x.Correct(came, place, f.Issued)
		if taken.Learned == 0 {
			continue
		}
		all = append(all, erring{
			Place: place, Pairs: pairs[place], Air: taken.Air.Over(came.Air), AirError: taken.AirError,
			Dew: taken.DewPoint.Over(came.DewPoint), DewError: taken.DewError,
		})
	}
	return all
}
