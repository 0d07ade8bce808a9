/* What was written: one compact tree for all files of a check.
 *
 * A node is 32 bytes and is named by its number, not its address. node.def says what each kind holds.
 * Nodes live in chunks that never move, so a Node pointer stays good while the tree lives.
 * Lifetime: one check. Nothing in the tree refers to meaning; the tree is never changed after it is read. */
#ifndef TRUNNION_SYNTAX_TREE_H
#define TRUNNION_SYNTAX_TREE_H

#include "base/symbol.h"
#include "base/vector.h"
#include "message/message.h"
#include "text/source.h"

typedef uint32_t NodeId; /* 0: none */

typedef enum NodeKind {
    NODE_NONE,
#define NODE(kind, words) NODE_##kind,
#include "syntax/node.def"
#undef NODE
    NODE_KIND_COUNT
} NodeKind;

typedef enum OptionKind {
    OPTION_NONE,
#define OPTION(kind) OPTION_##kind,
#include "syntax/option.def"
#undef OPTION
    OPTION_KIND_COUNT
} OptionKind;

typedef enum Operator {
    OPERATOR_NONE,
#define OPERATOR(id, spelling, binding) OPERATOR_##id,
#include "syntax/operator.def"
#undef OPERATOR
    OPERATOR_COUNT
} Operator;

typedef enum BoundsKind { BOUNDS_NONE, BOUNDS_AROUND, BOUNDS_SKEWED, BOUNDS_BETWEEN } BoundsKind;
typedef enum SegmentKind { SEGMENT_MOVE, SEGMENT_HOLD, SEGMENT_RUN } SegmentKind;
/* How the bytes of a text stand in its source. CELL: as a whole cell of a table, bare or in the quotes of the table, where a
 * quote is doubled. QUOTED_TWICE: in quotes of the language, within such a cell. */
typedef enum TextForm { TEXT_IN_QUOTES, TEXT_CELL, TEXT_QUOTED_TWICE } TextForm;
typedef enum TypeShape { TYPE_PLAIN, TYPE_CYCLE, TYPE_TABLE } TypeShape;
/* Flags. INCOMPLETE: a part of this declaration (its list of members, fields, clauses …) could not be read, which was
 * reported; what seems to be missing in it may have been there. */
enum { TYPE_SEVERAL = 1, NODE_IN_PARENTHESES = 2, NODE_INCOMPLETE = 4 };

typedef struct Node {
    uint8_t kind;   /* NodeKind */
    uint8_t op;     /* Operator, OptionKind, BoundsKind, SegmentKind, TypeShape, TextForm or truth */
    uint16_t flags; /* TYPE_SEVERAL, NODE_IN_PARENTHESES, NODE_INCOMPLETE */
    Symbol name;
    Span span;
    union {
        struct {
            NodeId a, b;
        };
        double number; /* NUMBER only */
    };
    NodeId c;
    NodeId next; /* the next in the list this node is in */
} Node;

enum { TREE_CHUNK_BITS = 14, TREE_CHUNK = 1 << TREE_CHUNK_BITS };

typedef struct Tree {
    Arena *arena;
    Symbols *symbols;
    const Sources *sources;
    VECTOR(Node *) chunks;
    uint32_t count; /* nodes in use; number 0 is never a node */
    void *reader;   /* of syntax_read, kept from file to file */
    void *cells;    /* the same, of cell_open */
    struct LexerMemory *lexer_memory; /* see lexer.h */
} Tree;

Tree *tree_open(Arena *arena, Symbols *symbols, const Sources *sources);
/* A new node, all zero but for kind and span. */
NodeId tree_add(Tree *tree, NodeKind kind, Span span);
static inline Node *tree_node(const Tree *tree, NodeId id) {
    return &tree->chunks.at[id >> TREE_CHUNK_BITS][id & (TREE_CHUNK - 1)];
}
/* The bytes of a TEXT node: quotes off, \" and \\ undone, adjacent strings joined by nothing. */
Text tree_text(const Tree *tree, Arena *arena, NodeId text);
/* The first option of this kind in a list, or 0. */
NodeId tree_option(const Tree *tree, NodeId first_option, OptionKind kind);
/* The title of a declaration, or the empty text. */
Text tree_title(const Tree *tree, Arena *arena, NodeId declaration);
/* For --dump tree and for tests: one line a node, indented, without positions. */
Text tree_dump(const Tree *tree, Arena *arena, NodeId first_item);

/* Limits, each with a message and a test. */
enum {
    SYNTAX_DEPTH_LIMIT = 200,          /* nesting of braces, parentheses, and operators */
    SYNTAX_NAME_LIMIT = 255,           /* bytes of a name or unit */
    SYNTAX_ERROR_LIMIT = 100           /* syntax errors reported in one file */
};

/* Reads the program text of one file (all of source->blocks, in order). Returns the first of its items (a list by
 * `next`), 0 when there is none. Errors are reported and reading goes on at the next line that can begin a declaration. */
NodeId syntax_read(Tree *tree, Source *source, Messages *messages);

#endif
