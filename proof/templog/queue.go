package templog

import (
	"container/heap"
)

// queue holds rows that may have come out of order, the earliest on top; rows of one moment keep their order.
type queue []queued

type queued struct {
	row
	place int // in the file
}

// Len, Less, Swap, Push and Pop are those of [heap.Interface].
func (q queue) Len() int { return len(q) }

func (q queue) Less(a, b int) bool {
	return q[a].t < q[b].t || q[a].t == q[b].t && q[a].place < q[b].place
}

func (q queue) Swap(a, b int) { q[a], q[b] = q[b], q[a] }

// Push appends a row.
func (q *queue) Push(x any) { *q = append(*q, x.(queued)) }

// Pop takes the last row.
func (q *queue) Pop() any {
	last := len(*q) - 1
	x := (*q)[last]
	*q = (*q)[:last]
	return x
}

// earliest takes the earliest row out.
func (q *queue) earliest() row { return heap.Pop(q).(queued).row }

// exchange puts a row in and takes the earliest out, without allocating.
func (q *queue) exchange(x queued) row {
	if len(*q) == 0 || x.t < (*q)[0].t {
		return x.row
	}
	first := (*q)[0].row
	(*q)[0] = x
	heap.Fix(q, 0)
	return first
}
