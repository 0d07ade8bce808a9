/* What was written: one compact tree for all files of a check.
 *
 * A node is 32 bytes and is named by its number, not its address. node.def says what each kind holds.
 * Nodes live in chunks that never move, so a Node pointer stays good while the tree lives.
 * Cards of libraries are packed: half a node for each field. Who goes through the fields of a FILLED item asks fields_of (they
 * stay packed) or tree_fields (they become nodes).
 * Lifetime: one check. Nothing in the tree refers to meaning; after it is read, it is only unpacked. */
#ifndef TRUNNION_SYNTAX_TREE_H
#define TRUNNION_SYNTAX_TREE_H

#include "base/map.h"
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

/* A field that states a plain number, one word, or yes or no, in 16 bytes instead of two nodes; many cards state little else.
 * Where it stands is counted on from the one before it. */
typedef struct Packed {
    double number;
    uint16_t words; /* its name and unit, or word: index into Tree.packed_words */
    uint16_t gap;   /* bytes from the end of the field before it to its name; in a table, to its cell */
    uint8_t lead;   /* bytes from the end of the name to the value; in a table 0 */
    uint8_t length; /* bytes of the value, a number with its unit */
    uint8_t kind;   /* NUMBER, NAME, TRUTH; BROKEN: the value is unread text */
    uint8_t op;     /* of a TRUTH */
} Packed;

typedef struct PackedWords {
    Symbol field, value;
    uint32_t length; /* bytes of the field's name */
} PackedWords;

enum { TREE_CHUNK_BITS = 14, TREE_CHUNK = 1 << TREE_CHUNK_BITS };

typedef struct Tree {
    Arena *arena;
    Symbols *symbols;
    const Sources *sources;
    VECTOR(Node *) chunks;
    uint32_t count; /* nodes in use; number 0 is never a node */
    bool packs;     /* cards are packed in named files too, not only in used ones */
    uint32_t packed_count;
    VECTOR(Packed *) packed_chunks;
    VECTOR(PackedWords) packed_words;
    Map words_of;   /* name and unit -> index into packed_words */
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
/* The TEXT of its title, or 0. */
NodeId tree_title_node(const Tree *tree, NodeId declaration);
/* Where a FILLED names its form. */
Span tree_form_span(const Tree *tree, NodeId filled);
/* Goes through the fields of a filled-in form without unpacking it:
 *     for (Fields fields = fields_of(tree, filled); fields_next(&fields);) … fields.name … */
typedef struct Fields {
    const Tree *tree;
    NodeId next;          /* the node to come */
    const Node *run;      /* the PACKED that are gone through */
    uint32_t at, position; /* in it: the field to come, and where the one before it ends */
    Symbol name;          /* of the field */
    Span span;            /* as in its FIELD */
    NodeId value;         /* 0: packed */
    const Node *node;     /* the value; of a packed field it is good until the next */
    Node unpacked;
} Fields;

Fields fields_of(const Tree *tree, NodeId filled);
bool fields_next(Fields *fields);
/* The first FIELD of a filled-in form, 0 when there is none; what is packed becomes nodes, which stay. Not while another thread
 * looks at the tree. */
NodeId tree_fields(Tree *tree, NodeId filled);
/* Packs a FIELD with a plain value, the latest two nodes of the tree, behind `last` in its list (or 0). Gives the
 * PACKED node, which may be `last`, or 0 when it stays a field. */
NodeId tree_pack(Tree *tree, NodeId last, NodeId field);
/* Whether fields are packed in this file. */
bool tree_packs(const Tree *tree, const Source *source);
/* Where the value of the latest field of a run ends, as its node says. */
uint32_t tree_packed_end(const Tree *tree, NodeId run);
/* It becomes unread text. */
void tree_spoil_packed(Tree *tree, NodeId run);

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
