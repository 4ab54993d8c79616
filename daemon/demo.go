package main

import (
	"context"
	"errors"
	"fmt"

	"github.com/spf13/cobra"

	"fairwindow/config"
	"fairwindow/notify"
)

// play is what the demo's flags say.
type play struct {
	seed                    uint64
	days                    int
	weather, station, start string
	speed                   float64
	once, asJSON            bool
	state, listen           string
	signIn                  bool
}

func demoCommand() *cobra.Command {
	var p play
	c := &cobra.Command{
		Use:   "demo",
		Short: "Play two weeks of an invented yard on a fast clock",
		Long: `Starts the real daemon on an invented yard and plays weather, sensors, forecasts
and crews for it on a fast clock. Notices are printed as they are published; the
week is on the page whose address is printed. Ends by itself, or by Ctrl-C.

The weather is invented, unless --weather names an hourly CSV, EPW or TMY2 file of
recorded weather, whose faults are played as they are.`,
		Example: `  fairwindow demo
  fairwindow demo --once --seed 7
  fairwindow demo --once --weather newark_2013_hourly.csv --start 2013-04-01 --days 30`,
		Args: exactly(),
		RunE: func(c *cobra.Command, _ []string) error { return p.run(c) },
	}
	f := c.Flags()
	f.Uint64Var(&p.seed, "seed", 1, "seed of everything invented")
	f.IntVar(&p.days, "days", 14, "how many days to play")
	f.StringVar(&p.weather, "weather", "", "play recorded weather from this file instead of invented")
	f.StringVar(&p.station, "station", "", "station in the file, where it has several; default its first")
	f.StringVar(&p.start, "start", "", "first day, such as 2013-04-01; default a Monday in April")
	f.Float64Var(&p.speed, "speed", 3600, "how many seconds to play in one second")
	f.BoolVar(&p.once, "once", false, "as fast as it can, then print a summary")
	f.BoolVar(&p.asJSON, "json", false, "with --once: print the summary as JSON")
	f.StringVar(&p.state, "state", "", "folder of database and bus; default a new one under the user's state directory")
	f.BoolVar(&p.signIn, "sign-in", false, "with invented people who sign in; their invitations are printed")
	f.StringVar(&p.listen, "listen", "", "the pages' address; default the yard's, with --once any free one")
	return c
}

func (p *play) run(c *cobra.Command) error {
	ctx, out := c.Context(), c.OutOrStdout()
	if p.speed <= 0 || p.days <= 0 {
		return usage("--speed and --days must be above zero")
	}
	y, boats, err := p.yard()
	if err != nil {
		return err
	}
	if p.signIn {
		y.People = demoPeople()
	} else if config.Exposed(y.Listen) {
		return usage("on %s whoever reaches this machine could change things: add --sign-in, or listen on 127.0.0.1", y.Listen)
	}
	start, sky, err := p.sky(c.ErrOrStderr(), &y)
	if err != nil {
		return err
	}
	if p.state, err = p.newState(); err != nil {
		return err
	}
	log, err := newLog(c.ErrOrStderr(), "logfmt", "warning")
	if err != nil {
		return err
	}
	stage, err := openStage(ctx, p, y, start, log, func(n notify.Notice, sentence string) {
		if !p.once {
			fmt.Fprintf(out, "%s  %s\n", n.At.In(start.Location()).Format("Mon 2 Jan 15:04"), sentence)
		}
	})
	if err != nil {
		return err
	}
	if !p.once {
		fmt.Fprintf(out, "the yard and its weather: %s\nthe week:  %s\nnotices:   fairwindow listen --url %s\nstate:     %s\n\n",
			p.truth(), stage.web.url, stage.service.BusURL(), p.state)
	}
	if err := p.invite(ctx, out, stage); err != nil {
		return errors.Join(err, stage.close())
	}
	summary, err := stage.play(ctx, p, y, boats, sky)
	if err != nil && !errors.Is(err, context.Canceled) {
		return errors.Join(err, stage.close())
	}
	if ctx.Err() != nil {
		fmt.Fprintln(c.ErrOrStderr(), "\nended early; what was played so far:")
	}
	if p.asJSON {
		err = printJSON(out, summary)
	} else {
		_, err = fmt.Fprintf(out, "%s\n%s\n", p.truth(), summary)
	}
	return errors.Join(err, stage.close())
}
