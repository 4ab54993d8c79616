package config

import (
	"fmt"

	"fairwindow/conditions/unit"
)

// limits checks one set of bounds. A pair that leaves nothing between is
// a fault; so is a value that no air or hull ever has.
func (c *checker) limits(path string, l Limits) {
	within(c, path+".margin", l.Margin, 0, 30, "write the least distance from the dew point, like \"3 C\" or \"5 F\"")
	if l.Margin != nil && l.Margin.SI > 12 && l.Margin.SI <= 30 {
		c.warn(path+".margin", fmt.Sprintf("a margin of %s is seldom met", *l.Margin), "write a difference, not the surface temperature; usual are 3 C and 5 F")
	}
	within(c, path+".humidity_min", l.HumidityMin, 0, 100, "write 0 % to 100 %")
	within(c, path+".humidity_max", l.HumidityMax, 0, 100, "write 0 % to 100 %")
	ordered(c, path+".humidity_max", l.HumidityMin, l.HumidityMax)
	within(c, path+".air_min", l.AirMin, -60, 60, "write an air temperature, like \"10 C\"")
	within(c, path+".air_max", l.AirMax, -60, 60, "write an air temperature, like \"32 C\"")
	ordered(c, path+".air_max", l.AirMin, l.AirMax)
	within(c, path+".surface_min", l.SurfaceMin, -60, 100, "write a surface temperature, like \"10 C\"")
	within(c, path+".surface_max", l.SurfaceMax, -60, 100, "write a surface temperature, like \"40 C\"")
	ordered(c, path+".surface_max", l.SurfaceMin, l.SurfaceMax)
	within(c, path+".wind_max", l.WindMax, 0, 60, "write a wind speed, like \"6.7 m/s\"")
	within(c, path+".gust_max", l.GustMax, 0, 80, "write a wind speed, like \"9 m/s\"")
	if l.WindMax != nil && l.GustMax != nil && l.GustMax.SI < l.WindMax.SI {
		c.fault(path+".gust_max", fmt.Sprintf("gusts of at most %s are less than a mean wind of at most %s", *l.GustMax, *l.WindMax), "make gust_max the larger, or leave it out: wind_max then bounds both")
	}
	within(c, path+".above_air", l.AboveAir, 0, 60, "write how much warmer than the air the surface may be, like \"15 C\"")
	within(c, path+".below_air", l.BelowAir, 0, 60, "write how much colder than the air the surface may be, like \"5 C\"")
	within(c, path+".falls", l.Falls, 0, 60, "write how fast the surface may cool, like \"3 K/h\"")
	within(c, path+".rising", l.Rising, 0, 20, "write how fast the margin must grow at least, like \"0 K/h\" for one that does not fall")
	within(c, path+".paint_below", l.PaintBelow, 0, 30, "write how much colder than the surface the paint may be, like \"0 K\"")
	within(c, path+".rain_max", l.RainMax, 0, 1, "write a chance from 0 % to 100 %")
}

func within[T ~float64](c *checker, path string, w *unit.Written[T], least, most float64, right string) {
	if w != nil && (float64(w.SI) < least || float64(w.SI) > most) {
		c.fault(path, fmt.Sprintf("%s is out of reach", *w), right)
	}
}

func ordered[T ~float64](c *checker, path string, least, most *unit.Written[T]) {
	if least != nil && most != nil && least.SI >= most.SI {
		c.fault(path, fmt.Sprintf("nothing lies between at least %s and at most %s", *least, *most), "make the greatest the larger of the two")
	}
}

func (c *checker) profiles() {
	named(c, "profiles", "name", "profile", c.y.Profiles, profileName)
	for i, p := range c.y.Profiles {
		path := fmt.Sprintf("profiles[%d]", i)
		if p.Source == "" {
			c.warn(path+".source", "nobody can look this profile up", "write source: with the document and its section")
		}
		if p.Limits == (Limits{}) {
			c.fault(path+".limits", "this profile sets no limit", "write limits: with at least one")
		}
		c.limits(path+".limits", p.Limits)
	}
}
