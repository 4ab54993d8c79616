package pages

import (
	"net/url"
	"regexp"
	"strings"
	"testing"

	"fairwindow/config"
	"fairwindow/planner"
)

// The scheduler of a full yard finds one boat at once: by a word, by where they stand, in
// the order of any column, by links and a form that need no script, kept in the address.
func TestBoatsAreFound(t *testing.T) {
	f, s := bookFake()
	add := func(name, owner, length, arrives string) {
		b := s.boats["Kestrel"][0].Of
		b.Name, b.Owner, b.Arrives, b.Promised, b.Place = name, owner, arrives, "2026-06-01", ""
		b.Areas = []config.Area{{Name: "house", System: "no such system"}}
		if err := b.Length.UnmarshalText([]byte(length)); err != nil {
			t.Fatal(err)
		}
		f.boats = append(f.boats, b)
	}
	add("Wren", "Owner Seven", "13 ft 6 in", "2026-05-20 08:00")
	add("Zebra", "Owner Nine", "90 ft", "2026-05-04 08:00")
	add("eider", "Owner Seven", "24 m", "2026-05-11 08:00")
	f.presses = append(f.presses, planner.Press{Kind: planner.Launched, Key: planner.Key{Boat: "Wren"}, Happened: at(6, 9, 0), Entered: at(6, 9, 0)})
	f.draft.Launches = []planner.Launch{
		{Boat: "Kestrel", Promised: at(14, 0, 0), Likely: at(11, 16, 0)}, {Boat: "Plover", Promised: at(14, 0, 0), Likely: at(20, 16, 0)}, {Boat: "Zebra", Promised: at(8, 0, 0)},
	}
	f.draft.Until = at(25, 0, 0)

	row := regexp.MustCompile(`<th scope="row"><a href="[^"]*">([^<]*)</a>`)
	for address, want := range map[string]string{
		"/boats":                                 "Ada &amp; Sons, eider, Kestrel, Plover, Zebra; Wren",
		"/boats?down=yes":                        "Zebra, Plover, Kestrel, eider, Ada &amp; Sons; Wren",
		"/boats?find=OWNER+seven":                "eider; Wren",
		"/boats?find=seven+wre":                  "; Wren",
		"/boats?find=no+such+system&show=come":   "eider, Zebra; ",
		"/boats?show=launched":                   "; Wren",
		"/boats?show=late":                       "Plover, Zebra; ",
		"/boats?show=late&sort=launch&down=yes":  "Zebra, Plover; ",
		"/boats?show=here&find=booth":            "Kestrel; ",
		"/boats?sort=size&show=come&find=such":   "eider, Zebra; ",
		"/boats?sort=arrives&find=such":          "Zebra, eider; Wren",
		"/boats?sort=arrives&find=such&down=yes": "eider, Zebra; Wren",
		"/boats?sort=where&down=yes&find=booth":  "Kestrel; ",
		"/boats?sort=launch&find=e":              "Kestrel, Plover, Zebra, Ada &amp; Sons, eider; Wren",
		"/boats?find=nobody":                     "; ",
		"/boats?sort=colour&show=blue&find=wren": "; Wren",
	} {
		r, body := get(t, f, address)
		here, launched, _ := strings.Cut(body, "<summary>Launched")
		var lists []string
		for _, part := range []string{here, launched} {
			var names []string
			for _, m := range row.FindAllStringSubmatch(part, -1) {
				names = append(names, m[1])
			}
			lists = append(lists, strings.Join(names, ", "))
		}
		if got := strings.Join(lists, "; "); r.StatusCode != 200 || got != want {
			t.Errorf("%s shows %s, want %s", address, got, want)
		}
		at, err := url.Parse(address)
		if err != nil {
			t.Fatal(err)
		}
		if find := at.Query().Get("find"); find != "" {
			has(t, body, `name="find" value="`+find+`"`, `<a href="/boats`)
		}
		if launched != "" && strings.Contains(here[strings.LastIndex(here, "<details"):], " open") != (at.Query().Get("find")+at.Query().Get("show") != "") {
			t.Errorf("%s: what is launched is unfolded where it is looked for, and only there", address)
		}
	}

	_, body := get(t, f, "/boats?sort=arrives&show=come")
	has(t, body, `<th scope="col" aria-sort="ascending"><a href="/boats?down=yes&amp;show=come&amp;sort=arrives">Arrives</a>`, `<a href="/boats?show=come&amp;sort=size">Size</a>`, "2 of 6 boats", "<b>late: after Sat 25 Apr</b>")
	if n := strings.Count(body, "aria-sort"); n != 1 {
		t.Errorf("%d columns are said to be in order", n)
	}
	_, body = get(t, f, "/boats?sort=arrives&down=yes")
	has(t, body, `aria-sort="descending"><a href="/boats?sort=arrives">Arrives</a>`)
	if strings.Contains(body, " of 6 boats") {
		t.Error("nothing was left out, and something is said of it")
	}
}
