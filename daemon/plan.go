package main

import (
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"text/tabwriter"
	"time"

	"github.com/spf13/cobra"

	"fairwindow/config"
	"fairwindow/daemon/service"
	"fairwindow/planner"
	"fairwindow/planner/engine"
	"fairwindow/sensors"
	"fairwindow/sensors/forecast"
)

func planCommand() *cobra.Command {
	var from planInput
	var in solveInput
	var asJSON, schema bool
	var days int
	c := &cobra.Command{
		Use:   "plan YARD [--forecast FILE] [--at TIME] | plan --problem FILE",
		Short: "Plan once from files and print the week",
		Long: `Plans every open stage of the boats in boats.yaml from one forecast file, with
nothing measured and nothing reported, and prints the week. Exit code 0: every
stage has a start; 1: some have none within six weeks.

With --problem it solves a problem in JSON instead: one that was kept beside a plan,
or tasks with crews, places and lags of any trade, as --schema tells. The same
--rounds give the same plan on any machine. Of

` + twoTasks + `

it makes 0 to 4 and 4 to 7: no schedule is shorter.`,
		Example: `  fairwindow plan my-yard --forecast forecasts/model.csv
  fairwindow plan my-yard --forecast model.json --format open-meteo --at "2026-04-06 07:00" --json
  fairwindow plan --problem problem.json --rounds 50 --json`,
		Args: between(0, "YARD"),
		RunE: func(c *cobra.Command, args []string) error {
			switch {
			case schema:
				_, err := c.OutOrStdout().Write(engine.Schema())
				return err
			case in.file != "" && len(args) > 0:
				return usage("--problem names all there is to solve: leave %s out", args[0])
			case in.file == "" && len(args) == 0:
				return usage("name the YARD, or a --problem")
			}
			if days < 1 {
				return usage("--days: %d is no number of days to print; give 1 or more", days)
			}
			if in.file != "" {
				return in.solve(c, asJSON, days)
			}
			problem, err := from.problem(args[0])
			if err != nil {
				return err
			}
			problem.Rounds = in.rounds
			plan, err := planner.Solve(problem)
			if err != nil {
				return usageError{err}
			}
			for _, b := range planner.Check(problem, plan) {
				return fmt.Errorf("the plan breaks a rule and is not shown: %s: %s", b.Rule, b.What)
			}
			planner.Explain(problem, plan.Stages)
			if asJSON {
				err = printJSON(c.OutOrStdout(), plan)
			} else {
				err = printWeek(c.OutOrStdout(), problem.Yard, plan, days)
			}
			if err != nil {
				return err
			}
			for _, s := range plan.Stages {
				if s.State == planner.Unplaced {
					return errNo
				}
			}
			return nil
		},
	}
	from.flags(c)
	in.flags(c)
	c.Flags().BoolVar(&schema, "schema", false, "print the JSON Schema of tasks, crews and lags, and of their result")
	c.Flags().IntVar(&days, "days", 7, "how many days to print")
	c.Flags().BoolVar(&asJSON, "json", false, "print the whole plan as JSON")
	return c
}

// planInput is what a plan without a daemon is made from.
type planInput struct{ forecast, format, at, boats string }

func (in *planInput) flags(c *cobra.Command) {
	c.Flags().StringVar(&in.forecast, "forecast", "", "forecast file; without one the season's usual weather is used")
	c.Flags().StringVar(&in.format, "format", "csv", "its format: csv, open-meteo, gridpoint or locationforecast")
	c.Flags().StringVar(&in.at, "at", "", `time to plan at, on the yard's clock, such as "2026-04-06 07:00", or RFC 3339; default now`)
	c.Flags().StringVar(&in.boats, "boats", "", "boats' file; default boats.yaml beside the yard file")
}

func (in *planInput) problem(arg string) (planner.Problem, error) {
	none := planner.Problem{}
	y, err := readYard(arg)
	if err != nil {
		return none, err
	}
	if in.boats == "" {
		in.boats = filepath.Join(filepath.Dir(yardPath(arg)), boatsName)
	}
	boats, err := readBoats(y, in.boats)
	if err != nil {
		return none, err
	}
	at := time.Now()
	if in.at != "" {
		zone, err := y.Location()
		if err == nil {
			at, err = wallTime(in.at, zone)
		}
		if err != nil {
			return none, usage("--at: %w", err)
		}
	}
	var issues []sensors.Forecast
	if in.forecast != "" {
		issue, err := readForecast(y, in.forecast, in.format, at)
		if err != nil {
			return none, err
		}
		issues = append(issues, issue)
	}
	return service.Once(service.Alone{Yard: y, Folder: filepath.Dir(yardPath(arg)), Boats: boats, Forecasts: issues, At: at})
}

// readForecast reads one forecast file; what is doubtful in it is said by the plan.
func readForecast(y config.Yard, path, format string, at time.Time) (sensors.Forecast, error) {
	text, err := os.ReadFile(path)
	if err != nil {
		return sensors.Forecast{}, usage("the forecast %s can't be read: %w", path, plain(err))
	}
	zone, err := y.Location()
	if err != nil {
		return sensors.Forecast{}, usageError{err}
	}
	f, err := forecast.Parse(sensors.Document{Source: filepath.Base(path), Format: format, Body: text, Received: at, Zone: zone})
	if err != nil {
		return sensors.Forecast{}, usage("%s: %w", path, err)
	}
	return f, nil
}

// printWeek prints a plan's stages by day.
func printWeek(w io.Writer, y config.Yard, plan planner.Plan, days int) error {
	zone, err := y.Location()
	if err != nil {
		return err
	}
	t := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
	end := plan.At.AddDate(0, 0, days)
	day := ""
	later, without := 0, 0
	for _, s := range plan.Stages {
		switch {
		case s.Start.IsZero():
			without++
			continue
		case s.Start.After(end):
			later++
			continue
		}
		if d := s.Start.In(zone).Format("Mon 2 Jan"); d != day {
			day = d
			fmt.Fprintf(t, "\n%s\n", day)
		}
		chance := ""
		if s.Kind == config.Coat {
			chance = fmt.Sprintf("%.0f %%", 100*s.Chance)
			if f := s.Fallback; f != nil {
				chance += "; if missed, next " + f.Start.In(zone).Format("Mon 15:04")
			}
		}
		fmt.Fprintf(t, "  %s\t%s\t%s, %s\t%s\t%s\t%s\t%s\n", clockSpan(s, zone), s.Place, s.Key.Boat, s.Key.Area, s.Key.Stage, s.Crew, s.State, chance)
	}
	fmt.Fprintln(t)
	for _, l := range plan.Launches {
		fmt.Fprintf(t, "launch\t%s\tpromised %s\t%s\n", l.Boat, l.Promised.In(zone).Format("Mon 2 Jan"), likely(l, zone))
	}
	cost := int64(0)
	for _, term := range plan.Cost {
		cost += term.Amount
	}
	fmt.Fprintf(t, "cost\t%d cost-minutes\tno plan costs less than %d\n", cost, plan.Bound)
	if err := t.Flush(); err != nil {
		return err
	}
	if later > 0 {
		fmt.Fprintf(w, "%s later than %s\n", count(later, "stage"), count(days, "day"))
	}
	if without > 0 {
		fmt.Fprintf(w, "%d stages have no start within the plan: fairwindow why says why\n", without)
	}
	for _, s := range plan.Stages {
		if len(s.Impossible) > 0 {
			fmt.Fprintf(w, "%s\n", s.Key)
			printFacts(w, s, zone)
		}
	}
	return nil
}

func clockSpan(s planner.Planned, zone *time.Location) string {
	from, to := s.Start.In(zone), s.End.In(zone)
	switch {
	case midnight(from, zone).Equal(midnight(to, zone)):
		return from.Format("15:04") + "–" + to.Format("15:04")
	case to.Before(midnight(from, zone).AddDate(0, 0, 7)):
		return from.Format("15:04") + "–" + to.Format("Mon 15:04")
	}
	return from.Format("15:04") + "–" + to.Format("2 Jan 15:04") // the weekday comes again
}

func likely(l planner.Launch, zone *time.Location) string {
	if l.Likely.IsZero() {
		return "not within this plan"
	}
	late := ""
	if l.Likely.After(l.Promised) {
		late = ", " + count(int(math.Ceil(l.Likely.Sub(l.Promised).Hours()/24)), "day") + " late"
	}
	cautious := ", cautiously not within this plan"
	if !l.Cautious.IsZero() {
		cautious = ", cautiously " + l.Cautious.In(zone).Format("Mon 2 Jan")
	}
	return "likely " + l.Likely.In(zone).Format("Mon 2 Jan") + late + cautious
}
