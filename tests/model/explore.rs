//! The search and its result.
//!
//! The edges are recorded while the search follows them. The search itself cannot check "some path leads to the end",
//! and it does not find a shortest path to a fault. Both are computed from the edges afterwards.

use crate::act::Act;
use crate::check::{
    CODES_AGREE, CODES_READ, EXPLAINED, HOLDER, LIVES_AGAIN, OF_PERSON, ORIGIN_SAID, PUTS_BACK,
    SERVICE, STAYED, TAKES_OVER, VERIFIED,
};
use crate::key::{self, Key};
use crate::keyed::Keyed;
use crate::world::{Scope, World};
use skimgate::interlock::event::Outcome;
use stateright::{Checker, HasDiscoveries, Model, Property};
use std::collections::{HashMap, HashSet, VecDeque};
use std::sync::{Arc, Mutex};

pub type Node = Keyed<World, Key>;

/// The edges between worlds.
#[derive(Default)]
struct Edges {
    all: Vec<(Key, Key, Act)>,
    complete: HashSet<Key>,
    broken: HashMap<Key, (&'static str, String)>,
}

struct Explorer {
    scope: Scope,
    edges: Arc<Mutex<Edges>>,
    first_only: bool,
}

impl Explorer {
    fn node(&self, world: World) -> Node {
        let key = key::of(&world, self.scope.backs - world.backs);
        Node::new(world, key)
    }
}

/// The properties that are true in every world.
macro_rules! properties {
    ($($name:expr),* $(,)?) => {
        vec![$(Property::always($name, |_: &Explorer, node: &Node| node.world.violated != Some($name))),*]
    };
}

impl Model for Explorer {
    type State = Node;
    type Action = Act;

    fn init_states(&self) -> Vec<Node> {
        vec![self.node(self.scope.begin())]
    }

    fn actions(&self, node: &Node, acts: &mut Vec<Act>) {
        // The search is breadth first, so any other fault is not nearer.
        if self.first_only && !self.edges.lock().unwrap().broken.is_empty() {
            return;
        }
        acts.extend(self.scope.acts(&node.world));
    }

    fn next_state(&self, node: &Node, act: Act) -> Option<Node> {
        let next = self.node(self.scope.step(&node.world, act)?);
        if next.key == node.key {
            return None;
        }
        let mut edges = self.edges.lock().unwrap();
        edges.all.push((node.key, next.key, act));
        if next.world.state.ended == Some(Outcome::Complete) {
            edges.complete.insert(next.key);
        }
        if let Some(property) = next.world.violated {
            edges
                .broken
                .insert(next.key, (property, next.world.seen.clone()));
        }
        Some(next)
    }

    fn properties(&self) -> Vec<Property<Self>> {
        properties![
            "no start without every condition",
            "no release without every condition",
            "no start without its signatures",
            "signed only over what holds",
            "no release used twice",
            "never two holders",
            "no signature outlives a change",
            "a release dies with any change",
            "a hard limit never passes",
            "a reason covers its own value only",
            "a rehearsal never releases",
            "a run from a file is never released",
            "a cut is assumed only from a file",
            "practice under every other condition",
            "every number is right",
            "complete only when all is done",
            LIVES_AGAIN,
            HOLDER,
            VERIFIED,
            OF_PERSON,
            TAKES_OVER,
            EXPLAINED,
            SERVICE,
            PUTS_BACK,
            STAYED,
            CODES_READ,
            CODES_AGREE,
            ORIGIN_SAID,
            "never held without a reason",
            "what is recorded comes back the same",
        ]
    }
}

/// The result of an exploration.
#[derive(Debug)]
pub struct Found {
    pub states: usize,
    pub steps: usize,
    pub deepest: usize,
    /// The broken property, what was seen, and a shortest path to it.
    pub broken: Option<(&'static str, String, Vec<Act>)>,
    /// A shortest path to a world from which no run becomes complete.
    pub stuck: Option<Vec<Act>>,
}

/// Explores everything in `scope`; up to the first broken property if `first_only`.
pub fn explore(scope: Scope, threads: usize, first_only: bool) -> Found {
    let noted = Arc::new(Mutex::new(Edges::default()));
    let explorer = Explorer {
        scope,
        edges: Arc::clone(&noted),
        first_only,
    };
    let start = explorer.init_states().remove(0).key;
    let checker = explorer
        .checker()
        .threads(threads)
        .finish_when(HasDiscoveries::All)
        .spawn_bfs()
        .join();
    let (states, deepest) = (checker.unique_state_count(), checker.max_depth());
    let edges = noted.lock().unwrap();
    let broken = edges
        .shortest(start, |at| edges.broken.contains_key(at))
        .map(|(at, way)| {
            let (name, seen) = edges.broken[&at].clone();
            (name, seen, way)
        });
    drop(edges);
    // The search and the recorded edges must agree. (A search that was stopped early cannot retrace its paths.
    // Retracing records edges again, which changes nothing.)
    if !first_only {
        let named: Vec<&str> = checker.discoveries().into_keys().collect();
        assert_eq!(broken.is_some(), !named.is_empty(), "{named:?}");
    }
    let edges = noted.lock().unwrap();
    let stuck = broken.is_none().then(|| edges.stuck(start)).flatten();
    Found {
        states,
        steps: edges.all.len(),
        deepest,
        broken,
        stuck,
    }
}

impl Edges {
    /// A shortest path to a world from which no path leads to completion.
    fn stuck(&self, start: Key) -> Option<Vec<Act>> {
        let mut into: HashMap<Key, Vec<Key>> = HashMap::new();
        for (from, to, _) in &self.all {
            into.entry(*to).or_default().push(*from);
        }
        let mut leads = self.complete.clone();
        let mut queue: Vec<Key> = leads.iter().copied().collect();
        while let Some(to) = queue.pop() {
            for from in into.get(&to).into_iter().flatten() {
                if leads.insert(*from) {
                    queue.push(*from);
                }
            }
        }
        self.shortest(start, |at| !leads.contains(at))
            .map(|(_, way)| way)
    }

    /// A shortest path to a world for which `wanted` is true. The search itself stores the last path to a fault, which
    /// may not be the shortest.
    fn shortest(&self, start: Key, wanted: impl Fn(&Key) -> bool) -> Option<(Key, Vec<Act>)> {
        let mut out: HashMap<Key, Vec<(Key, Act)>> = HashMap::new();
        for (from, to, act) in &self.all {
            out.entry(*from).or_default().push((*to, *act));
        }
        let mut came: HashMap<Key, (Key, Act)> = HashMap::new();
        let mut queue = VecDeque::from([start]);
        while let Some(at) = queue.pop_front() {
            if wanted(&at) {
                let mut way = Vec::new();
                let mut back = at;
                while back != start {
                    let (before, act) = came[&back];
                    way.push(act);
                    back = before;
                }
                way.reverse();
                return Some((at, way));
            }
            for (to, act) in out.get(&at).into_iter().flatten() {
                if *to != start && !came.contains_key(to) {
                    came.insert(*to, (at, *act));
                    queue.push_back(*to);
                }
            }
        }
        None
    }
}
