package service

import (
	"context"
	"encoding/base64"
	"encoding/json"
	"slices"
	"strings"

	"google.golang.org/protobuf/proto"

	"github.com/skidrule/skidrule/internal/engine"
	"github.com/skidrule/skidrule/internal/misspelt"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// Sizes of a page of rules.
const (
	defaultPage = 100
	largestPage = 1000
)

// ruleService shows the built-in rules.
type ruleService struct {
	skidrulev1.UnimplementedRuleServiceServer
	engine *engine.Engine
}

// pageToken is where the next page begins. It holds for the topic it was made for.
type pageToken struct {
	After string `json:"after"`
	Topic string `json:"topic"`
}

// ListRules gives a page of rules.
func (s *ruleService) ListRules(_ context.Context, r *skidrulev1.ListRulesRequest) (*skidrulev1.ListRulesResponse, error) {
	size := int(r.GetPageSize())
	switch {
	case size < 0:
		return nil, engine.Refuse("page_size", "leave it out for 100", "the page size is negative")
	case size == 0:
		size = defaultPage
	}
	size = min(size, largestPage)
	token := pageToken{Topic: r.GetTopic()}
	if r.GetPageToken() != "" {
		raw, err := base64.RawURLEncoding.DecodeString(r.GetPageToken())
		if err != nil || json.Unmarshal(raw, &token) != nil || token.Topic != r.GetTopic() {
			return nil, engine.Refuse("page_token", "begin again without a token", "the token is not from an answer to the same request")
		}
	}
	ids := s.topic(r.GetTopic())
	if r.GetTopic() != "" && len(ids) == 0 {
		return nil, engine.Refuse("topic", misspelt.DidYouMean(r.GetTopic(), s.engine.Book().Topics()), "there is no topic %s", r.GetTopic())
	}
	from, found := slices.BinarySearch(ids, token.After)
	if found {
		from++
	}
	answer := &skidrulev1.ListRulesResponse{}
	for _, id := range ids[from:min(from+size, len(ids))] {
		compiled, _ := s.engine.Book().Find(id)
		rule := proto.CloneOf(compiled.Rule)
		rule.Examples = nil
		answer.Rules = append(answer.Rules, rule)
	}
	if from+size < len(ids) {
		raw, err := json.Marshal(pageToken{ids[from+size-1], r.GetTopic()})
		if err != nil {
			return nil, err
		}
		answer.NextPageToken = base64.RawURLEncoding.EncodeToString(raw)
	}
	return answer, nil
}

// GetRule gives one rule whole.
func (s *ruleService) GetRule(_ context.Context, r *skidrulev1.GetRuleRequest) (*skidrulev1.GetRuleResponse, error) {
	if r.GetId() == "" {
		return nil, engine.Refuse("id", "ids are topic/slug; ListRules lists them", "the request names no rule")
	}
	compiled, ok := s.engine.Book().Find(r.GetId())
	if !ok {
		return nil, &notFoundError{cut(r.GetId(), 200), misspelt.DidYouMean(r.GetId(), s.engine.Book().IDs())}
	}
	return &skidrulev1.GetRuleResponse{Rule: compiled.Rule}, nil
}

// topic lists the ids of a topic in order; of all where it is empty.
func (s *ruleService) topic(topic string) []string {
	var out []string
	for _, id := range s.engine.Book().IDs() {
		if topic == "" || strings.HasPrefix(id, topic+"/") {
			out = append(out, id)
		}
	}
	return out
}
