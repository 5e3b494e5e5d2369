package fail

import (
	"fmt"
	"testing"
)

func TestError_CodeAndPlace(t *testing.T) {
	e := New(BadUnit, "value", `"12" has no unit`, "write 12psig")
	err := fmt.Errorf("sheet: %w", e.At("readings[0]"))
	if CodeOf(err) != BadUnit || HintOf(err) != "write 12psig" || err.Error() != `sheet: readings[0].value: "12" has no unit` {
		t.Errorf("%v %v %v", err, CodeOf(err), HintOf(err))
	}
	if CodeOf(fmt.Errorf("x")) != Internal || Internal.HTTPStatus() != 500 || Usage.Exit() != 2 || NotFound.HTTPStatus() != 404 ||
		Code("x").Exit() != 1 {
		t.Error("the table is wrong")
	}
}
