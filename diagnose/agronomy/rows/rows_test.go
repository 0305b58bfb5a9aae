package rows

import "testing"

func TestRead(t *testing.T) {
	table, err := Read("# a remark\nname,n,source\nx,1.5,a book\ny,,\"a book, read\"\n", "name", "n", "source")
	if err != nil || len(table) != 2 || table[0].Number("n") != 1.5 || table[1].Or("n", 7) != 7 || table[1]["source"] != "a book, read" {
		t.Errorf("%v %v", table, err)
	}
	for _, bad := range []string{"", "name,n\nx,1\n", "name,n,source\nx,1,\n", "name,n,source\nx,1\n"} {
		if _, err := Read(bad, "name", "n", "source"); err == nil {
			t.Errorf("%q is read", bad)
		}
	}
	if got := Distinct(table, "name"); len(got) != 2 || got[0] != "x" {
		t.Errorf("%v", got)
	}
}

func TestNumberPanicsOnWords(t *testing.T) {
	defer func() {
		if recover() == nil {
			t.Error("a word was read as a number")
		}
	}()
	Row{"n": "many"}.Number("n")
}
