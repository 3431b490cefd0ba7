package shop_test

import (
	"fmt"
	"testing"
)

// A design is judged once: for the next buyer it only gets another stamp. What it is printed on is judged anew.
func TestAnotherStampIsNotAnotherDesign(t *testing.T) {
	h := open(t, nil)
	for i := range 3 {
		h.order(fmt.Sprintf(`{"style": "sleeve", "stamp": "made for order %d"}`, i))
	}
	h.order(`{"style": "sleeve"}`)
	if n := h.maker.Checks.Load(); n != 1 {
		t.Errorf("one design for four buyers was checked %d times", n)
	}
	h.order(`{"style": "sleeve", "outputs": [{"paper": "A0"}]}`)
	if n := h.maker.Checks.Load(); n != 2 {
		t.Errorf("on another paper it was checked %d times in all", n)
	}
}
