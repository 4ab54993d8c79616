package main

import (
	"fmt"
	"io"
	"strings"

	"github.com/spf13/cobra"

	"fairwindow/conditions"
	"fairwindow/conditions/unit"
	"fairwindow/config"
	"fairwindow/config/file"
)

// airAnswer is what `air --json` prints.
type airAnswer struct {
	Air      conditions.Air      `json:"air"`
	Margin   *float64            `json:"margin_K,omitempty"`
	Profile  string              `json:"profile"`
	Source   string              `json:"source"`
	Verdict  conditions.Verdict  `json:"verdict"`
	Remedies []conditions.Change `json:"remedies,omitempty"`
	LeftOut  []conditions.Bound  `json:"left_out,omitempty"` // the profile's limits of wind and rain, of which nothing is said here
}

func airCommand() *cobra.Command {
	var ask airAsk
	var surface, paint, profile, yard string
	var asJSON, all bool
	c := &cobra.Command{
		Use:   "air --temp T (--humidity RH | --dew-point T | --wet-bulb T | --ratio W) [--surface T]",
		Short: "Dew point, margin and verdict of the air and a surface",
		Long: `Prints dew point, wet bulb and the margin of a surface over the dew point, the
verdict by a named profile, wind and rain left out, and the smallest change that would
make it open. Any two of the five that tell the air suffice, but dew point and ratio
are one. With --all: frost point, humidity ratio, enthalpy, density and pressure too.
Exit code 0: within the profile's limits; 1: outside, or unknown without a surface.`,
		Example: `  fairwindow air --temp 18C --humidity 84 --surface 17C
  fairwindow air --temp 64F --wet-bulb 58F --surface 66F --profile mil-hdbk-1110
  fairwindow air --temp 31C --ratio 14g/kg --elevation 1600m --all`,
		Args: exactly(),
		RunE: func(c *cobra.Command, _ []string) error {
			known, err := ask.known(c.Flags().Changed("pressure"))
			if err != nil {
				return err
			}
			air, err := conditions.Solve(known)
			if err != nil {
				return usageError{err}
			}
			moment := conditions.Moment{
				Air: air.Temperature, DewPoint: air.DewPoint, Sure: conditions.Measured,
				Coldest: unit.NaN[unit.Temperature](), Warmest: unit.NaN[unit.Temperature](),
			}
			if surface != "" {
				t, err := unit.Parse[unit.Temperature](surface)
				if err != nil {
					return usage("--surface: %w", err)
				}
				moment.Coldest, moment.Warmest = t.SI, t.SI
			}
			if paint != "" {
				t, err := unit.Parse[unit.Temperature](paint)
				if err != nil {
					return usage("--paint: %w", err)
				}
				moment.Paint = unit.Some(t.SI)
			}
			p, err := profileNamed(profile, yard)
			if err != nil {
				return err
			}
			rules := conditions.Strictest(nil, conditions.Owned{Owner: "profile " + p.Name, Limits: p.Limits})
			rules, leftOut := ofAir(rules)
			answer := airAnswer{Air: air, Profile: p.Name, Source: p.Source, Verdict: conditions.Judge(moment, rules), LeftOut: leftOut}
			if unit.Known(moment.Coldest) {
				m := float64(moment.Coldest.Over(air.DewPoint))
				answer.Margin = &m
			}
			if answer.Verdict.Answer == conditions.No {
				answer.Remedies = conditions.Remedies(moment, rules, air.Pressure)
			}
			if asJSON {
				if err := printJSON(c.OutOrStdout(), answer); err != nil {
					return err
				}
			} else {
				printAir(c.OutOrStdout(), answer, moment, all)
			}
			if answer.Verdict.Answer != conditions.Yes {
				return errNo
			}
			return nil
		},
	}
	f := c.Flags()
	f.StringVar(&ask.temp, "temp", "", "air temperature, such as 18C or 64F")
	f.StringVar(&ask.humidity, "humidity", "", "relative humidity, such as 84 or 84%")
	f.StringVar(&ask.dew, "dew-point", "", "dew point, instead of the humidity")
	f.StringVar(&ask.wet, "wet-bulb", "", "wet bulb, instead of the humidity")
	f.StringVar(&ask.ratio, "ratio", "", "humidity ratio, instead of the humidity, such as 8.7g/kg or 61gr/lb")
	f.StringVar(&surface, "surface", "", "coldest surface temperature")
	f.StringVar(&paint, "paint", "", "temperature of the mixed paint, for a profile that minds")
	f.StringVar(&profile, "profile", "default", "profile of limits that decides")
	f.StringVar(&yard, "yard", "", "yard file whose profiles to use; default those of the starter yard")
	f.StringVar(&ask.pressure, "pressure", "1013.25hPa", "air pressure")
	f.StringVar(&ask.elevation, "elevation", "", "height above the sea, instead of the pressure, such as 1600m or 5280ft")
	f.BoolVar(&all, "all", false, "print all that is known of the air")
	f.BoolVar(&asJSON, "json", false, "print JSON")
	return c
}

// ofAir parts the rules that air and surface can keep from those of wind and rain.
func ofAir(rules conditions.Rules) (air, weather conditions.Rules) {
	for _, b := range rules {
		switch b.Of {
		case conditions.OfWind, conditions.OfMeanWind, conditions.OfGust, conditions.OfRain:
			weather = append(weather, b)
		default:
			air = append(air, b)
		}
	}
	return air, weather
}

// profileNamed finds a profile in a yard file, or in the starter yard.
func profileNamed(name, yardFile string) (config.Profile, error) {
	y, err := yardOrStarter(yardFile)
	if err != nil {
		return config.Profile{}, err
	}
	if p, ok := y.ProfileNamed(name); ok {
		return p, nil
	}
	var names []string
	for _, p := range y.Profiles {
		names = append(names, p.Name)
	}
	return config.Profile{}, usage("--profile: there is no profile %q; there are %s", name, strings.Join(names, ", "))
}

// yardOrStarter reads a yard file, or gives the starter yard.
func yardOrStarter(yardFile string) (config.Yard, error) {
	if yardFile != "" {
		return readYard(yardFile)
	}
	text, _ := file.Starter()
	y, mistakes := file.Yard("starter", text)
	if err := mistakes.Err(); err != nil {
		return config.Yard{}, err
	}
	return y, nil
}

// poundsPerFoot is a kg/m³ in lb/ft³, by the definitions of the pound and the foot.
const poundsPerFoot = 0.3048 * 0.3048 * 0.3048 / 0.45359237

func printAir(w io.Writer, a airAnswer, m conditions.Moment, all bool) {
	both := func(t unit.Temperature) string {
		return fmt.Sprintf("%.1f °C (%.1f °F)", float64(t), unit.In(t, "F"))
	}
	fmt.Fprintf(w, "air        %s, %.1f %% humidity\n", both(a.Air.Temperature), float64(a.Air.Humidity))
	fmt.Fprintf(w, "dew point  %s\n", both(a.Air.DewPoint))
	fmt.Fprintf(w, "wet bulb   %s\n", both(a.Air.WetBulb))
	if all {
		if unit.Known(a.Air.FrostPoint) {
			fmt.Fprintf(w, "frost pt   %s\n", both(a.Air.FrostPoint))
		}
		fmt.Fprintf(w, "ratio      %.2f g of water to the kg of dry air (%.1f gr/lb)\n", 1000*a.Air.Ratio, 7000*a.Air.Ratio)
		fmt.Fprintf(w, "enthalpy   %.1f kJ to the kg of dry air, over 0 °C\n", a.Air.Enthalpy/1000)
		fmt.Fprintf(w, "density    %.3f kg/m³ (%.4f lb/ft³)\n", a.Air.Density, a.Air.Density*poundsPerFoot)
		fmt.Fprintf(w, "pressure   %.1f hPa (%.2f inHg)\n", float64(a.Air.Pressure)/100, unit.In(a.Air.Pressure, "inHg"))
	}
	if a.Margin != nil {
		fmt.Fprintf(w, "surface    %s\n", both(m.Coldest))
		fmt.Fprintf(w, "margin     %.2f °C (%.2f °F) over the dew point\n", *a.Margin, *a.Margin*9/5)
	}
	if !m.Paint.IsZero() {
		fmt.Fprintf(w, "paint      %s\n", both(m.Paint.OrNaN()))
	}
	fmt.Fprintf(w, "profile    %s: %s\n", a.Profile, a.Source)
	fmt.Fprintf(w, "verdict    %s\n", verdictLine(a.Verdict))
	if len(a.LeftOut) > 0 {
		var words []string
		for _, b := range a.LeftOut {
			words = append(words, fmt.Sprintf("%s at most %s", strings.ReplaceAll(string(b.Of), "_", " "), b.Written))
		}
		fmt.Fprintf(w, "not judged %s\n", strings.Join(words, ", "))
	}
	for _, r := range a.Remedies {
		fmt.Fprintf(w, "to open    %s\n", changeLine(r))
	}
}

// verdictLine words a verdict: within or outside the limits, and which binds.
func verdictLine(v conditions.Verdict) string {
	switch {
	case v.Answer == conditions.Undecided:
		return "unknown: " + v.Why
	case v.Wet:
		return "WET: the surface is at or below the dew point; no wipe, no sanding, no coat"
	case v.Binding < 0:
		return "within the limits: none of them bounds what is known"
	}
	worst := v.Margins[v.Binding]
	side := "at most"
	if worst.Least {
		side = "at least"
	}
	limit := fmt.Sprintf("%s %s %s, %s", strings.ReplaceAll(string(worst.Of), "_", " "), side, worst.Written, worst.Owner)
	if v.Answer == conditions.Yes {
		return "within the limits; the nearest is " + limit
	}
	return "outside the limits; what binds is " + limit
}

// changeLine words the smallest change that would make a no a yes.
func changeLine(c conditions.Change) string {
	more := "up"
	if c.By < 0 {
		more = "down"
	}
	degrees := func(v float64) string {
		return fmt.Sprintf("%.1f °C (%.1f °F)", v, unit.In(unit.Temperature(v), "F"))
	}
	switch c.Of {
	case conditions.TheSurface:
		return fmt.Sprintf("bring the hull %s to %s", more, degrees(c.To))
	case conditions.TheWater:
		return fmt.Sprintf("bring the dew point %s to %s: %.1f %% humidity in this air", more, degrees(c.To), float64(c.Humidity))
	case conditions.TheAir:
		return fmt.Sprintf("bring the air %s to %s: %.1f %% humidity then", more, degrees(c.To), float64(c.Humidity))
	case conditions.ThePlace:
		return fmt.Sprintf("bring air and hull together %s, the air to %s: %.1f %% humidity then", more, degrees(c.To), float64(c.Humidity))
	case conditions.TheWind:
		return fmt.Sprintf("wait for wind of %.1f m/s or less", c.To)
	case conditions.ThePaint:
		return fmt.Sprintf("warm the paint to %s", degrees(c.To))
	}
	return fmt.Sprintf("wait for a chance of rain of %.0f %% or less, or cover the boat", 100*c.To)
}
