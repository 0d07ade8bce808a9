/* Things that are alike but for their numbers, names and texts, so that one program serves them all.
 *
 * An assembly is what hangs together in the named files: an axis with its cycle, its load, its screw, and the requirements
 * that speak of them. Two assemblies are alike when they are written with the same words and units in the same order, and
 * their numbers with the same signs. What many assemblies use (a motor, a supply) is not part of any.
 *
 * In:   the model.
 * Out:  groups of assemblies that are alike; a program for the first of a group, and its inputs for any other.
 * Owns: everything in it, in the arena passed. */
#ifndef TRUNNION_PLAN_ALIKE_H
#define TRUNNION_PLAN_ALIKE_H

#include "plan/program.h"

enum {
    ALIKE_LEAST = 8, /* assemblies in a group; fewer are not worth it */
    ALIKE_SHARED = 8 /* things that use a thing, from which on it belongs to none of them */
};

typedef struct Assembly {
    const NodeId *items; /* FILLED, CYCLE and REQUIREMENT nodes of named files, rising */
    const NodeId *firsts, *lasts; /* the nodes of each lie between these */
    uint32_t count;
} Assembly;

typedef struct AlikeGroup {
    const Assembly *assemblies;
    uint32_t count;
} AlikeGroup;

typedef VECTOR(AlikeGroup) AlikeGroupVector;

AlikeGroupVector alike_find(Arena *arena, Model *model);

/* A program for one assembly alone, in which its written numbers are constants that can be replaced (Program.free_numbers). What
 * it uses and does not hold is in it too. NULL: something about it is to be said, and so it has to be checked in the usual way.
 * `nominal`: bounds are left out; without it, NULL also where anything has bounds. */
Program *plan_assembly(Arena *arena, const World *world, Sources *sources, Model *model, const Assembly *assembly, bool nominal);
/* The node of `assembly` that stands where `node` stands in the assembly that it is alike to; `node` itself when it is not part
 * of that. */
NodeId alike_node(const Assembly *pattern, const Assembly *assembly, NodeId node);
bool alike_holds(const Assembly *assembly, NodeId node);
/* The inputs for another assembly, by constant. False: the program does not serve it. */
bool alike_inputs(const Program *program, const Assembly *pattern, const Assembly *assembly, double *inputs);

#endif
