/* Words in which a kernel is written once and compiled for one lane and for eight. Include with
 * LANES defined as 1 or 8, then the kernel, and again for the other. */
#undef LANE
#undef MASK
#undef FN
#undef SPREAD
#undef SPREAD_MASK
#undef MASK_OF
#undef ANY
#undef SELECT

#ifndef INLINE
#define INLINE static inline __attribute__((always_inline))
#endif

#if LANES == 1
#define LANE double         /* a number for every lane */
#define MASK int64_t        /* 0 or -1 for every lane */
#define FN(name) name##_one /* this version's name of a function */
#define SPREAD(x) (x)       /* the same number in every lane */
#define SPREAD_MASK(m) (m)
#define MASK_OF(condition) (-(int64_t)(condition))
#define ANY(mask) ((mask) != 0) /* whether a lane is set */
#define SELECT(mask, x, y) ((mask) ? (x) : (y))
#else
#define LANE LgVec
#define MASK LgVecI
#define FN(name) name##_eight
#define SPREAD(x) ((x) - (LgVec){0})
#define SPREAD_MASK(m) ((m) - (LgVecI){0})
#define MASK_OF(condition) (condition)
#define ANY(m) (((m)[0] | (m)[1] | (m)[2] | (m)[3] | (m)[4] | (m)[5] | (m)[6] | (m)[7]) != 0)
#define SELECT(mask, x, y) ((LgVec)(((LgVecI)(x) & (mask)) | ((LgVecI)(y) & ~(mask))))
#endif
