package pages

import "testing"

// TestTaught: a place's page says in one line how the forecast errs there, or outdoors
// where nothing was learned in the place, and what is left when that is out.
func TestTaught(t *testing.T) {
	f := newFake()
	_, body := get(t, f, "/place/Booth%201")
	has(t, body, "Forecast: nothing learned of its errors yet; its published error counts, air ±1.8 K a day ahead.")
	f.learned = true
	_, body = get(t, f, "/place/Booth%201")
	has(t, body, "Forecast here, at this hour: air 0.8 K too warm, dew point about right. Taken out; what is left is air ±1.3 K a day ahead, from 412 pairs of forecast and reading.")
	_, body = get(t, f, "/place/Slip%202")
	has(t, body, "Forecast outdoors, at this hour: air 0.8 K too warm", "from 96 pairs")
	f.yard.Units = "US"
	_, body = get(t, f, "/place/Booth%201")
	has(t, body, "air 1.4 °F too warm", "±2.3 °F a day ahead")
}
