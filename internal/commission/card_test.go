package commission

import (
	"context"
	"fmt"
	"testing"

	"github.com/stretchr/testify/require"
)

func TestExploreCard(t *testing.T) {
	s := skid(t, design(t, demo))
	card, err := s.Card(context.Background(), []int{0, 3, 5})
	require.NoError(t, err)
	for _, c := range card.Cases {
		fmt.Println("==", c.Id)
		for _, r := range c.Readings {
			fmt.Println(r)
		}
	}
}
