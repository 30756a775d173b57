//! Reading ahead: blocks take time to prepare, and only so many are kept ready.

/// Which legs are ready, and when the next one will be.
#[derive(Debug, Clone)]
pub(crate) struct Queue {
    block_time_s: f64,
    capacity: usize,
    current: usize,
    freed_s: f64,
    done_s: f64,
    pending_s: Option<f64>,
    ready: usize,
    barrier: usize,
    /// Whether reading stood still for want of room.
    blocked: bool,
}

impl Queue {
    pub(crate) fn new(block_time_s: f64, capacity: usize) -> Self {
        Self {
            block_time_s,
            capacity: capacity.max(1),
            current: 0,
            freed_s: 0.0,
            done_s: 0.0,
            pending_s: None,
            ready: 0,
            barrier: 0,
            blocked: false,
        }
    }

    /// Goes on reading from time `now`, up to the leg `barrier`.
    pub(crate) fn resume(&mut self, now: f64, barrier: usize) {
        self.done_s = now;
        self.barrier = barrier;
        self.blocked = false;
    }

    /// Leg `leg` begins to be run at `now`.
    pub(crate) fn moved_to(&mut self, leg: usize, now: f64) {
        self.current = leg;
        self.freed_s = now;
    }

    /// Number of legs ready at `now`; `idle` gives the blocks before a leg that do not move.
    pub(crate) fn ready(&mut self, now: f64, idle: impl Fn(usize) -> usize) -> usize {
        loop {
            if self.pending_s.is_none() {
                let room = self.ready <= self.current + self.capacity;
                if !room || self.ready >= self.barrier {
                    self.blocked |= !room;
                    return self.ready;
                }
                let blocks = 1 + idle(self.ready);
                let start = if self.blocked { self.done_s.max(self.freed_s) } else { self.done_s };
                self.blocked = false;
                self.pending_s = Some(start + self.block_time_s * blocks as f64);
            }
            match self.pending_s {
                Some(at) if at <= now => {
                    self.ready += 1;
                    self.done_s = at;
                    self.pending_s = None;
                }
                _ => return self.ready,
            }
        }
    }

    /// When the next leg is ready, s.
    pub(crate) fn next_s(&self) -> Option<f64> {
        self.pending_s
    }
}
