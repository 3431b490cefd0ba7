package queue

import (
	"context"

	"github.com/hibiken/asynq"
)

// asynqQueues is where asynq keeps the names of its queues. A client writes a name once in its life; when
// the Redis loses it, tasks flow on and the inspector says that there is no such queue.
const asynqQueues = "asynq:queues"

// Tasks says what the queue holds, by asynq's names for the states.
func (q *Queue) Tasks(ctx context.Context) (map[string]int, error) {
	// The inspector takes no context: without an answer here there would be none there.
	if err := q.redis.SAdd(ctx, asynqQueues, Name).Err(); err != nil {
		return nil, err
	}
	info, err := asynq.NewInspectorFromRedisClient(q.redis).GetQueueInfo(Name)
	if err != nil {
		return nil, err
	}
	return map[string]int{"pending": info.Pending, "active": info.Active, "scheduled": info.Scheduled, "retry": info.Retry, "archived": info.Archived}, nil
}

// Policy is what the Redis does when its memory is full, in its own words; empty when it does not tell.
func (q *Queue) Policy(ctx context.Context) string {
	v, err := q.redis.ConfigGet(ctx, "maxmemory-policy").Result()
	if err != nil { // a Redis that somebody else looks after may keep this to itself
		return ""
	}
	return v["maxmemory-policy"]
}
