package store

import (
	"testing"
	"time"

	"fairwindow/notify"
)

func delivery(n notify.Notice, person string, way notify.Way, due time.Time) notify.Delivery {
	return notify.Delivery{Notice: n, Person: person, Way: way, Answer: notify.Tell, Why: notify.AtOnce, Due: due}
}

// A delivery goes its way: asked for with its notice, tried, failed, tried again after a
// restart under the same letter, sent.
func TestDeliveryGoesOut(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	s := open(t, dir)
	d := delivery(notice(1), "Ines", notify.ByMail, noon)
	nothing := delivery(notice(1), "Rui", notify.ByMail, noon)
	nothing.Answer = notify.Nothing
	for range 2 { // a change committed twice, as after a crash
		commit(t, s, Change{Notices: []notify.Notice{notice(1)}, Deliveries: []notify.Delivery{d, nothing}})
	}
	one := func(s *Store) Delivered {
		t.Helper()
		all, err := s.Deliveries(t.Context(), noon.Add(-time.Hour))
		if err != nil || len(all) != 1 {
			t.Fatalf("%d deliveries, %v", len(all), err)
		}
		return all[0]
	}
	got := one(s)
	if got.Notice != notice(1) || got.Person != "Ines" || got.Way != notify.ByMail || !got.Due.Equal(noon) || got.Tried || !got.Open() {
		t.Fatalf("%+v", got)
	}
	ref := got.Ref()
	if err := s.Try(t.Context(), "letter a", []notify.Ref{ref}, noon); err != nil {
		t.Fatal(err)
	}
	if err := s.Close(); err != nil { // killed while it was tried
		t.Fatal(err)
	}
	s = open(t, dir)
	if got = one(s); got.Letter != "letter a" || got.Tries != 1 || !got.Tried || !got.Open() || !got.Begun.Equal(noon) {
		t.Fatalf("after the restart %+v", got)
	}
	if err := s.Tried(t.Context(), Outcome{Letter: "letter a", Error: "no route", Retry: noon.Add(time.Minute), At: noon}); err != nil {
		t.Fatal(err)
	}
	if got = one(s); got.Error != "no route" || !got.Retry.Equal(noon.Add(time.Minute)) {
		t.Fatalf("after a failure %+v", got)
	}
	// What was tried may have been heard: it is neither dropped nor hastened.
	commit(t, s, Change{Dropped: []notify.Dropped{{Ref: ref, Why: notify.OvertakenBy}}, Hastened: []notify.Moved{{Ref: ref, Due: noon.Add(-time.Hour)}}})
	if got = one(s); got.Off || !got.Due.Equal(noon) {
		t.Fatalf("dropped what was tried: %+v", got)
	}
	if err := s.Try(t.Context(), "letter a", []notify.Ref{ref}, noon.Add(time.Minute)); err != nil {
		t.Fatal(err)
	}
	if err := s.Tried(t.Context(), Outcome{Letter: "letter a", Sent: true, At: noon.Add(time.Minute)}); err != nil {
		t.Fatal(err)
	}
	if got = one(s); got.Open() || !got.Sent.Equal(noon.Add(time.Minute)) || got.Tries != 2 || got.Error != "" || !got.Begun.Equal(noon) {
		t.Fatalf("after it was sent %+v", got)
	}
}

func TestDeliveriesAreDroppedHastenedAndGivenUp(t *testing.T) {
	t.Parallel()
	s := open(t, t.TempDir())
	late := noon.Add(8 * time.Hour)
	commit(t, s, Change{Notices: []notify.Notice{notice(1), notice(2), notice(3)}, Deliveries: []notify.Delivery{
		delivery(notice(1), "Ines", notify.ByMail, late), delivery(notice(2), "Ines", notify.ByMail, late), delivery(notice(3), "Ines", notify.ByMail, late),
	}})
	ref := func(i int) notify.Ref {
		return notify.Ref{ID: notice(i).ID, Revision: 1, Person: "Ines", Way: notify.ByMail}
	}
	commit(t, s, Change{Dropped: []notify.Dropped{{Ref: ref(1), Why: notify.OvertakenBy}}, Hastened: []notify.Moved{{Ref: ref(2), Due: noon}}})
	if err := s.Try(t.Context(), "letter c", []notify.Ref{ref(3)}, noon); err != nil {
		t.Fatal(err)
	}
	if err := s.Tried(t.Context(), Outcome{Letter: "letter c", Error: "no such mailbox", At: noon}); err != nil {
		t.Fatal(err)
	}
	all, err := s.Deliveries(t.Context(), time.Time{})
	if err != nil || len(all) != 3 {
		t.Fatal(len(all), err)
	}
	if !all[0].Off || all[0].Tried || all[1].Off || !all[1].Due.Equal(noon) || !all[2].Off || all[2].Error != "no such mailbox" {
		t.Errorf("%+v", all)
	}
	// Those of old notices are looked at only as long as they are to go out.
	left, err := s.Deliveries(t.Context(), late)
	if err != nil || len(left) != 1 || left[0].Ref() != ref(2) {
		t.Errorf("left %+v, %v", left, err)
	}
}

// A delivery without its notice is refused, and with it the whole change.
func TestDeliveryNeedsItsNotice(t *testing.T) {
	t.Parallel()
	s := open(t, t.TempDir())
	_, err := s.Commit(t.Context(), Change{At: noon, Notices: []notify.Notice{notice(1)}, Deliveries: []notify.Delivery{delivery(notice(2), "Ines", notify.ByMail, noon)}})
	if err == nil {
		t.Fatal("taken in")
	}
	if n, err := s.Notices(t.Context(), time.Time{}, 0); err != nil || len(n) != 0 {
		t.Errorf("half of it was kept: %v, %v", n, err)
	}
}

func TestHear(t *testing.T) {
	t.Parallel()
	s := open(t, t.TempDir())
	again := notice(1)
	again.Revision = 2
	commit(t, s, Change{Notices: []notify.Notice{notice(1), again}, Deliveries: []notify.Delivery{
		delivery(notice(1), "Ines", notify.ByMail, noon), delivery(again, "Ines", notify.ByMail, noon)}})
	if ok, err := s.Hear(t.Context(), Heard{ID: "nothing", Revision: 1, By: "Rui", At: noon}); ok || err != nil {
		t.Errorf("of nothing: %v, %v", ok, err)
	}
	for i := range 2 {
		if ok, err := s.Hear(t.Context(), Heard{ID: notice(1).ID, Revision: 1, By: "Rui", At: noon.Add(time.Duration(i) * time.Minute)}); !ok || err != nil {
			t.Fatal(ok, err)
		}
	}
	all, err := s.Deliveries(t.Context(), time.Time{})
	if err != nil || !all[0].Heard || all[1].Heard {
		t.Errorf("heard %v and %v, %v: the first revision was, the second was not", all[0].Heard, all[1].Heard, err)
	}
	who, err := s.HeardSince(t.Context(), noon)
	if err != nil || len(who) != 1 || who[0] != (Heard{notice(1).ID, 1, "Rui", noon}) {
		t.Errorf("%+v, %v", who, err)
	}
}
