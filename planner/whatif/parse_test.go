package whatif

import (
	"reflect"
	"strings"
	"testing"
	"time"

	"fairwindow/conditions/unit"
	"fairwindow/planner"
)

func asWritten[T ~float64](t *testing.T, text string) unit.Written[T] {
	t.Helper()
	w, err := unit.Parse[T](text)
	if err != nil {
		t.Fatal(err)
	}
	return w
}

func TestChangesInPlainWords(t *testing.T) {
	hour := unit.Duration(time.Hour)
	for text, want := range map[string]planner.Change{
		"heater booth 1 to 24 C":                         {Kind: planner.Heat, Place: "booth 1", SetPoint: asWritten[unit.Temperature](t, "24 C")},
		"a heater in booth 1 to 75F with 500 kW":         {Kind: planner.Heat, Place: "booth 1", SetPoint: asWritten[unit.Temperature](t, "75 F"), Heater: asWritten[unit.Power](t, "500 kW")},
		"dehumidifier shed":                              {Kind: planner.Dry, Place: "shed"},
		"Dehumidifier in shed at 55 %":                   {Kind: planner.Dry, Place: "shed", DownTo: asWritten[unit.Humidity](t, "55 %")},
		"dehumidifier tent of 44 lb/h leaking 50 cfm":    {Kind: planner.Dry, Place: "tent", Takes: asWritten[unit.WaterRate](t, "44 lb/h"), Leaks: asWritten[unit.Flow](t, "50 cfm")},
		"a tent over the slip 2":                         {Kind: planner.Cover, Place: "slip 2"},
		"one more painter":                               {Kind: planner.Staff, Crew: "painter", People: 1},
		"1 more in crew topcoat":                         {Kind: planner.Staff, Crew: "topcoat", People: 1},
		"two fewer in the prep A crew":                   {Kind: planner.Staff, Crew: "prep A", People: -2},
		"saturday shifts for prep crew":                  {Kind: planner.WorkOn, Crew: "prep", Weekday: time.Saturday},
		"Sunday shift for crew paint from 7:30, for 5 h": {Kind: planner.WorkOn, Crew: "paint", Weekday: time.Sunday, Starts: "07:30", Length: 5 * hour},
		"promise Kestrel 2026-05-30":                     {Kind: planner.Promise, Boat: "Kestrel", Day: "2026-05-30"},
		"promise Boat Kestrel for 2026-05-30 08:00":      {Kind: planner.Promise, Boat: "Boat Kestrel", Day: "2026-05-30 08:00"},
		"swap Kestrel and Dunlin":                        {Kind: planner.SwapTurns, Boat: "Kestrel", Other: "Dunlin"},
		"swap turns of Kestrel with Dunlin":              {Kind: planner.SwapTurns, Boat: "Kestrel", Other: "Dunlin"},
		"swap places of Grey Heron and Dunlin":           {Kind: planner.SwapPlaces, Boat: "Grey Heron", Other: "Dunlin"},
		"put off Kestrel by 7 d":                         {Kind: planner.PutOff, Boat: "Kestrel", By: 7 * 24 * hour},
		"put off Kestrel to 2026-04-20":                  {Kind: planner.PutOff, Boat: "Kestrel", Day: "2026-04-20"},
		"take out Kestrel":                               {Kind: planner.TakeOut, Boat: "Kestrel"},
		"without Kestrel":                                {Kind: planner.TakeOut, Boat: "Kestrel"},
	} {
		if got, err := Parse(text); err != nil || !reflect.DeepEqual(got, want) {
			t.Errorf("%q: %+v, %v; want %+v", text, got, err, want)
		}
	}
	for _, form := range Forms() {
		if _, err := Parse(form); err != nil {
			t.Errorf("an example of our own: %v", err)
		}
	}
}

func TestChangesSayWhereTheyAreWrong(t *testing.T) {
	for text, want := range map[string]string{
		"":                                  `"" ends at character 0: this begins no change; begin with heater, dehumidifier, tent, promise, swap, put off, take out, how many people or which weekday, like "one more painter"`,
		"paint it black":                    `character 1, "paint": this begins no change`,
		"heater":                            `"heater" ends at character 6: name a booth here, as in "heater booth 1 to 24 C`,
		"heater booth 1":                    `ends at character 14: say what it does`,
		"heater booth 1 to warm":            `character 19, "warm": "warm" is not a temperature`,
		"heater booth 1 to 24":              `character 19, "24": "24" has no unit`,
		"heater booth 1 to 24 C with 9 %":   `character 29, "9": "%" is not a unit of power`,
		"dehumidifier shed at":              `ends at character 20: name a quantity with its unit here`,
		"tent under slip":                   `character 6, "under": write "over" here`,
		"one painter":                       `character 5, "painter": write "more" or "fewer" here`,
		"zéro more":                         `character 1, "zéro"`,
		"0 more painter":                    `0 people is no number to try`,
		"999999 more painters":              `give 1 to 100`,
		"saturday work for prep":            `character 10, "work": write "shifts" here`,
		"saturday shifts for prep from 7am": `character 31, "7am": write a time of day here, like 07:00`,
		"sunday shifts for prep for 30 h":   `character 28, "30": no shift is longer than a day`,
		"saturday shifts for prep for ever": `character 30, "ever"`,
		"promise Kestrel soon":              `name a boat and then a day`,
		"promise Kestrel 2026-02-30":        `character 17, "2026-02-30": write a day here, like 2026-05-30`,
		"promise Kestrel for x 2026-02-20":  `character 21, "x": the day comes here`,
		"promise Kestrel 2026-02-20 noon":   `character 28, "noon": write a time of day here`,
		"swap Kestrel":                      `ends at character 12: write "and" here`,
		"put off Kestrel":                   `ends at character 15: say to when or by how much`,
		"put off Kestrel by -1 h":           `character 20, "-1"`,
		"put Kestrel off":                   `character 5, "Kestrel": write "off" here`,
		"take out":                          `ends at character 8: name a boat here`,
		"put off K to 2026-04-20 08:00 now": `character 31, "now": nothing more belongs here`,
	} {
		if got, err := Parse(text); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%q: %+v, %v; want %s", text, got, err, want)
		}
	}
}

// Whoever says what can't be understood is told how each change begins.
func TestBeginningsAreAllNamed(t *testing.T) {
	_, err := Parse("asdf")
	for _, form := range Forms() {
		first, _, _ := strings.Cut(form, " ")
		_, people := number(first)
		_, day := weekday(first)
		if !people && !day && !strings.Contains(err.Error(), first) {
			t.Errorf("%v lacks how %q begins", err, form)
		}
	}
}

// Whatever is said is a change or an error, and an error repeats what was said.
func FuzzChange(f *testing.F) {
	for _, form := range Forms() {
		f.Add(form)
	}
	f.Add("promise 2026-05-30")
	f.Fuzz(func(t *testing.T, text string) {
		c, err := Parse(text)
		if err == nil && c.Kind == "" {
			t.Errorf("%q is a change of no kind", text)
		}
		if err != nil && c != (planner.Change{}) {
			t.Errorf("%q: half a change, %+v", text, c)
		}
	})
}
