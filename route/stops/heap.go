package stops

// pushHeap and popHeap keep the least index first. less is a strict order, so
// the order of what comes out does not depend on that of what went in.
func pushHeap(heap []int, at int, less func(a, b int) bool) []int {
	heap = append(heap, at)
	for i := len(heap) - 1; i > 0; {
		up := (i - 1) / 2
		if !less(heap[i], heap[up]) {
			break
		}
		heap[i], heap[up] = heap[up], heap[i]
		i = up
	}
	return heap
}

func popHeap(heap []int, less func(a, b int) bool) (int, []int) {
	top := heap[0]
	end := len(heap) - 1
	heap[0] = heap[end]
	heap = heap[:end]
	for i := 0; ; {
		down := 2*i + 1
		if down >= end {
			return top, heap
		}
		if down+1 < end && less(heap[down+1], heap[down]) {
			down++
		}
		if !less(heap[down], heap[i]) {
			return top, heap
		}
		heap[i], heap[down] = heap[down], heap[i]
		i = down
	}
}
